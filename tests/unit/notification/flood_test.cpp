// Floods and chatter: when they begin and end, what is told then, and that nothing is left out.
// The counts are those of ISA-18.2-2016 16.4.4 as a secondary article gives them; the chatter
// figures those of Kondaveeti's index as a secondary article gives it, and 3 in a minute.
#include "notification/flood.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <set>

#include "house.h"
#include "notification/chatter.h"

namespace clutchward {
namespace {

using namespace house;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::StartsWith;

Moment minute(int n) {
  return {Steady(100h) + std::chrono::minutes(n),
          at("2026-03-06T02:00:00Z") + std::chrono::minutes(n), true};
}

TEST(Flood, BeginsAboveTenAndEndsBelowFiveInTenMinutes) {
  // 10-minute counts 3, 11, 12, 6, 4, 2: the flood is windows 2 to 4 and ends in window 5.
  Flood flood;
  std::vector<bool> running;
  int window = 0;
  for (const std::size_t count : {3, 11, 12, 6, 4, 2}) {
    flood.count(count, minute(10 * window));
    const bool floods = flood.running;
    if (flood.running && flood.list_due <= minute(10 * window + 9).steady + 1min)
      flood.list_told(minute(10 * window).steady + 9min + 59s);
    running.push_back(floods && flood.running);
    ++window;
  }
  EXPECT_EQ(running, (std::vector<bool>{false, true, true, true, false, false}));
}

TEST(Flood, ExactlyTenBeginNoneAndExactlyFiveEndNone) {
  Flood flood;
  EXPECT_FALSE(flood.count(10, minute(0)));
  EXPECT_TRUE(flood.count(1, minute(1)));
  flood.count(5, minute(9));
  flood.list_told(minute(11).steady);
  EXPECT_TRUE(flood.running);  // one of minute 1 has gone, five of minute 9 are left
  flood.count(4, minute(20));
  flood.list_told(minute(21).steady);
  EXPECT_FALSE(flood.running);
}

AlarmView& dry(House& h, int n) {
  return h.alarm("setter-" + std::to_string(n), "dry", RuleKind::below, Priority::medium, 45'000,
                 Quantity::humidity);
}

std::set<AlarmKey> keys_of(const std::vector<Notification>& notes, const std::string& contact) {
  std::set<AlarmKey> keys;
  for (const Notification& note : notes)
    if (note.contact == contact)
      for (const AlarmEvent& event : note.events) keys.insert(event.key);
  return keys;
}

TEST(Flood, OneMessageWithTheListThenOneEveryTenMinutes) {
  Settings settings = saltmere();
  settings.escalation = {{0s, {"mara"}}};
  House h(settings);
  std::vector<Notification> all;
  const auto take = [&](std::vector<Notification> notes) {
    for (Notification& note : notes) all.push_back(std::move(note));
  };
  for (int n = 0; n < 12; ++n) h.raise(dry(h, n), 40'000);
  take(h.pass(10s));
  ASSERT_EQ(all.size(), 1U);
  EXPECT_EQ(all[0].first_line,
            "ALARM FLOOD Saltmere 12 alarms since 02:14. Worst: TOO DRY Setter A");
  EXPECT_THAT(all[0].message, HasSubstr("From now on there is one list every 10 minutes"));
  // Twenty more in five minutes: nothing until the list is due.
  for (int n = 12; n < 32; ++n) {
    h.raise(dry(h, n), 40'000);
    take(h.pass(15s));
  }
  EXPECT_EQ(all.size(), 1U);
  h.keep();
  h.restart();
  take(h.pass(5min));
  ASSERT_EQ(all.size(), 2U);
  EXPECT_THAT(all[1].first_line, StartsWith("ALARM FLOOD Saltmere 20 alarms since 02:14."));
  take(h.pass(11min));
  ASSERT_GE(all.size(), 3U);
  EXPECT_EQ(all[2].first_line, "FLOOD OVER Saltmere, it began at 02:14. Messages come one by one");
  EXPECT_EQ(keys_of(all, "mara").size(), 32U);
}

TEST(Flood, HighOnesGoAtOnceAndFourHundredAreNoFourHundredMails) {
  Settings settings = saltmere();
  settings.escalation = {{0s, {"mara"}}};
  House h(settings);
  std::vector<Notification> all;
  for (int n = 0; n < 400; ++n) {  // over ten seconds, each in a turn of its own
    h.raise(h.high("setter-" + std::to_string(n)), 39'800);
    for (Notification& note : h.out()) all.push_back(std::move(note));
    for (Notification& note : h.pass(25ms)) all.push_back(std::move(note));
  }
  for (Notification& note : h.pass(1s)) all.push_back(std::move(note));
  EXPECT_EQ(keys_of(all, "mara").size(), 400U);
  EXPECT_LE(all.size(), 11U + 21U);
  for (const Notification& note : all) EXPECT_EQ(note.urgency, Urgency::high);
}

TEST(Flood, AStormInOneTurnIsOneMessageAContact) {
  House h;
  h.together = true;
  for (int n = 0; n < 400; ++n) h.raise(h.high("setter-" + std::to_string(n)), 39'800);
  h.raise(h.alarm("setter-7", "overheat", RuleKind::above, Priority::high, 41'000), 41'500);
  h.tell();
  const auto notes = h.out();
  ASSERT_EQ(notes.size(), 1U);
  EXPECT_EQ(notes[0].subject.alarm, "overheat");  // the worst first
  EXPECT_EQ(keys_of(notes, "mara").size(), 401U);
}

TEST(Flood, AHighAlarmInAFloodOfOthersWaitsForNothing) {
  House h;
  for (int n = 0; n < 12; ++n) h.raise(dry(h, n), 40'000);
  h.pass(10s);
  h.raise(dry(h, 20), 40'000);
  h.raise(h.high("setter-b"), 39'800);
  const auto notes = h.out();
  ASSERT_EQ(notes.size(), 1U);
  EXPECT_EQ(notes[0].subject.alarm, "high");
}

TEST(Chatter, ThreeInAMinuteAndTheIndexOverTheGaps) {
  const auto run = [](std::vector<int> seconds) {
    Chatter chatter;
    bool told = false;
    for (const int at : seconds)
      told = chatter.raise(Steady(100h) + std::chrono::seconds(at)) || told;
    return std::pair(told, chatter.index());
  };
  EXPECT_TRUE(run({0, 20, 40}).first);
  EXPECT_FALSE(run({0, 40, 80}).first);
  EXPECT_NEAR(run({0, 20, 40, 60}).second, 0.05, 1e-9);
  EXPECT_NEAR(run({0, 1, 2, 3, 4}).second, 1.0, 1e-9);
  EXPECT_NEAR(run({0, 5, 15, 35, 75}).second, 0.09375, 1e-9);
  EXPECT_NEAR(run({0, 60, 120}).second, 0.0166667, 1e-6);
}

TEST(Chatter, IsToldOnceWithWhatWouldHaveStoppedIt) {
  House h;
  AlarmView& damp =
      h.alarm("setter-a", "damp", RuleKind::above, Priority::medium, 65'000, Quantity::humidity);
  std::vector<Notification> all;
  for (int n = 0; n < 5; ++n) {
    h.raise(damp, 65'200);
    for (Notification& note : h.pass(8s)) all.push_back(std::move(note));
    h.give_back(damp, 63'800);
    for (Notification& note : h.pass(8s)) all.push_back(std::move(note));
  }
  std::vector<Notification> told;
  for (const Notification& note : all)
    if (note.thread.starts_with("chatter/")) told.push_back(note);
  ASSERT_EQ(told.size(), 1U);
  EXPECT_EQ(told[0].first_line, "COMES AND GOES Setter A damp, 3 times. Widen deadband or delay");
  EXPECT_EQ(told[0].urgency, Urgency::low);
  EXPECT_THAT(told[0].message, HasSubstr("a delay of 1min (it never stood longer than 8s)"));
  EXPECT_THAT(told[0].message, HasSubstr("a deadband of 1.3 % (it came back by at most 1.2)"));
}

}  // namespace
}  // namespace clutchward
