// From messages and reports to rows: one a channel, amended while it can be.
#include "app/told_book.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace clutchward {
namespace {

using namespace std::chrono_literals;

constexpr Wall kNow{1772352000000ms};  // 2026-03-01T08:00:00Z

Notification message(int number, int channel = 0) {
  Notification note;
  note.id = "20260301T080000000Z-" + std::to_string(number) + "-setter-a";
  note.contact = "mara";
  note.channel = channel;
  note.urgency = Urgency::high;
  note.first_line = "TOO HOT Setter A";
  note.subject = {"setter-a", "hens-12", "high"};
  note.reason = "raised";
  note.made_at = kNow;
  AlarmEvent event;
  event.at = kNow - 1s;
  event.key = note.subject;
  note.events = {event};
  event.kind = EventKind::returned;
  note.events.push_back(event);
  return note;
}

TEST(ToldBook, WritesEachChannelOnceAndTheAlarmsOfAMessageOnce) {
  ToldBook book;
  HistoryRows rows;
  book.sent(message(17), "webhook", rows);
  book.sent(message(18, 1), "email", rows);
  book.sent(message(17), "webhook", rows);  // tried again
  ASSERT_EQ(rows.told.size(), 2U);
  EXPECT_EQ(rows.told[0].number, 17U);
  EXPECT_EQ(rows.told[0].way, "webhook");
  EXPECT_EQ(rows.told[0].sort, "raised");
  EXPECT_EQ(rows.told[0].alarms, R"([["setter-a","hens-12","high","raised",1772351999000]])");
  EXPECT_EQ(rows.told[1].way, "email");
  EXPECT_EQ(rows.told[1].alarms, "");
}

TEST(ToldBook, DeliveryAmendsTheRowOrComesAsAChangeOfItsOwn) {
  ToldBook book;
  HistoryRows rows;
  book.sent(message(17), "webhook", rows);
  book.sent(message(18, 1), "email", rows);
  book.report({message(17).id, Outcome::delivered, "200", std::nullopt}, kNow + 1s, rows);
  book.report({message(18).id, Outcome::try_again, "451", std::nullopt}, kNow + 1s, rows);
  EXPECT_EQ(rows.told[0].delivered_at, kNow + 1s);
  EXPECT_FALSE(rows.told[1].delivered_at);
  HistoryRows next;
  book.report({message(18).id, Outcome::delivered, "250", std::nullopt}, kNow + 2min, next);
  ASSERT_EQ(next.told.size(), 1U);
  EXPECT_EQ(next.told[0].contact, "");
  EXPECT_EQ(next.told[0].number, 18U);
  EXPECT_EQ(next.told[0].delivered_at, kNow + 2min);
  book.report({message(18).id, Outcome::delivered, "250", std::nullopt}, kNow + 3min, next);
  EXPECT_EQ(next.told.size(), 1U);
}

TEST(ToldBook, NamesWhatIsNoAlarmByItsThread) {
  Notification note = message(17);
  note.reason = {};
  for (const auto& [thread, sort] : {std::pair("daily", "daily"),
                                     {"service", "service"},
                                     {"chatter/setter-a/high", "chatter"},
                                     {"flood", "flood_over"},
                                     {"test", "test"},
                                     {"answer", "answer"},
                                     {"tasks", "tasks"}}) {
    note.thread = thread;
    EXPECT_EQ(sort_of(note), sort);
  }
  EXPECT_TRUE(is_about_alarms("reminder"));
  EXPECT_TRUE(is_about_alarms("chatter"));
  EXPECT_FALSE(is_about_alarms("daily"));
  EXPECT_EQ(number_of_message("beat"), 0U);
}

}  // namespace
}  // namespace clutchward
