// The outbox: durable first, one hand-out a try, back-off, failures, bounds.
#include "notification/outbox.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "base/limits.h"
#include "house.h"

namespace clutchward {
namespace {

using namespace house;
using testing::IsEmpty;

bool everywhere(const std::string&, int) { return true; }

struct Box : testing::Test {
  Outbox outbox;
  Moment now{Steady(1h), at("2026-03-06T02:14:00Z"), true};
  std::uint64_t number = 0;

  std::string add(Urgency urgency, const std::string& alarm = "high") {
    Notification note;
    note.id = "m" + std::to_string(++number);
    note.contact = "mara";
    note.urgency = urgency;
    note.made_at = now.wall;
    note.subject = {"setter-a", "", alarm};
    outbox.add(number, note, std::nullopt, now.steady);
    return note.id;
  }
  std::vector<Change> save() {
    std::vector<Change> changes;
    outbox.take_changes({now.steady, now.wall}, changes);
    return changes;
  }
  std::string due() {
    std::string ids;
    for (const Notification& note : outbox.take_due(now, everywhere)) ids += note.id + " ";
    return ids;
  }
  void later(Span span) { now = {now.steady + span, now.wall + span, true}; }
  void answer(const std::string& id, Outcome outcome, const std::string& detail = "",
              std::optional<Span> retry_after = {}) {
    outbox.report({id, outcome, detail, retry_after}, now);
  }
};

TEST_F(Box, HandsNothingOutBeforeItWasShownForSaving) {
  add(Urgency::high);
  EXPECT_EQ(due(), "");
  EXPECT_EQ(outbox.next_deadline(), now.steady);
  save();
  EXPECT_EQ(due(), "m1 ");
  EXPECT_EQ(due(), "");
  EXPECT_EQ(outbox.next_deadline(), std::nullopt);
}

TEST_F(Box, HighGoesFirstThenByTime) {
  add(Urgency::medium);
  later(1s);
  add(Urgency::quiet);
  later(1s);
  add(Urgency::high);
  save();
  EXPECT_EQ(due(), "m3 m1 m2 ");
}

TEST_F(Box, DeliveredLeaves) {
  const std::string id = add(Urgency::high);
  save();
  due();
  answer(id, Outcome::delivered);
  EXPECT_THAT(outbox.waiting(), IsEmpty());
  EXPECT_EQ(save(), (std::vector<Change>{{"outbox/m1", std::nullopt}}));
}

TEST_F(Box, WaitsDoubleUpToFiveMinutes) {
  const std::string id = add(Urgency::high);
  save();
  for (const int seconds : {1, 2, 4, 8, 16, 32, 64, 128, 256, 300, 300}) {
    due();
    answer(id, Outcome::try_again, "451 try later");
    EXPECT_EQ(*outbox.next_deadline() - now.steady, std::chrono::seconds(seconds));
    later(std::chrono::seconds(seconds) - 1ms);
    EXPECT_EQ(due(), "");
    later(1ms);
  }
  EXPECT_EQ(due(), "m1 ");
  EXPECT_EQ(outbox.waiting().at(0).tries, 11);
  EXPECT_EQ(outbox.waiting().at(0).last_answer, "451 try later");
}

TEST_F(Box, AServerMayAskForAWaitWithinReason) {
  const std::string id = add(Urgency::high);
  save();
  due();
  answer(id, Outcome::try_again, "429", 90s);
  EXPECT_EQ(*outbox.next_deadline() - now.steady, Span(90s));
  later(90s);
  due();
  answer(id, Outcome::try_again, "429", 24h * 365);
  EXPECT_EQ(*outbox.next_deadline() - now.steady, Span(1h));
  later(1h);
  due();
  answer(id, Outcome::try_again, "429", -5s);
  EXPECT_EQ(*outbox.next_deadline() - now.steady, Span(1s));
}

TEST_F(Box, ARefusedOneIsTriedLessAndLessUntilDiscarded) {
  const std::string id = add(Urgency::high);
  save();
  for (Span wait = 1s;; wait = std::min<Span>(wait * 2, 1h)) {
    due();
    answer(id, Outcome::failed, "550 no such user");
    ASSERT_EQ(*outbox.next_deadline() - now.steady, wait);
    EXPECT_TRUE(outbox.find(id)->failed);
    if (wait == Span(1h)) break;
    later(wait);
  }
  EXPECT_TRUE(outbox.discard(id));
  EXPECT_FALSE(outbox.discard(id));
  EXPECT_EQ(outbox.next_deadline(), std::nullopt);
}

TEST_F(Box, AChannelThatTheConfigurationLostIsNoCrash) {
  add(Urgency::high);
  save();
  EXPECT_THAT(outbox.take_due(now, [](const std::string&, int) { return false; }), IsEmpty());
  EXPECT_EQ(outbox.waiting().at(0).last_answer, "the configuration has no such contact or channel");
  later(1h);
  EXPECT_EQ(due(), "m1 ");
}

TEST_F(Box, ReportsOfStrangersChangeNothing) {
  add(Urgency::high);
  save();
  answer("m9", Outcome::failed);
  answer("m1", Outcome::try_again);  // nobody has it yet
  EXPECT_EQ(outbox.waiting().at(0).tries, 0);
  EXPECT_EQ(due(), "m1 ");
}

TEST_F(Box, WhenFullTheOldestQuietOrLowGoesFirst) {
  add(Urgency::high);
  add(Urgency::medium);
  add(Urgency::low);
  add(Urgency::quiet);
  while (number < limits::kOutboxEntries) add(Urgency::high, "a" + std::to_string(number));
  const auto gone = [&](const char* id) { return outbox.find(id) == nullptr; };
  add(Urgency::high, "new 1");
  EXPECT_TRUE(gone("m3"));
  EXPECT_FALSE(gone("m4"));
  add(Urgency::quiet);
  EXPECT_TRUE(gone("m4"));
  const std::string low = add(Urgency::low);
  const std::string medium = add(Urgency::medium);
  EXPECT_TRUE(gone(low.c_str()));
  EXPECT_FALSE(gone(medium.c_str()));
  add(Urgency::high, "new 2");
  EXPECT_TRUE(gone("m2"));
  EXPECT_FALSE(gone(medium.c_str()));
  EXPECT_TRUE(gone(add(Urgency::quiet).c_str()));
  add(Urgency::high, "new 3");
  EXPECT_TRUE(gone(medium.c_str()));
  EXPECT_TRUE(gone(add(Urgency::medium).c_str()));
  EXPECT_FALSE(gone("m1"));
  EXPECT_EQ(outbox.waiting().size(), limits::kOutboxEntries);
  EXPECT_EQ(outbox.dropped(), 8U);
}

TEST_F(Box, FullOfHighOnesTheNewerOfOneAlarmTakesTheOldersPlace) {
  while (number < limits::kOutboxEntries) add(Urgency::high, "a" + std::to_string(number));
  add(Urgency::high, "a7");
  EXPECT_EQ(outbox.find("m8"), nullptr);
  EXPECT_EQ(outbox.waiting().size(), limits::kOutboxEntries);
  add(Urgency::high, "never seen");
  EXPECT_EQ(outbox.waiting().size(), limits::kOutboxEntries + 1);
}

TEST_F(Box, KeepsWhyAnAlarmIsTold) {
  std::uint64_t count = 0;
  for (const std::string_view reason : {"raised", "reminder", "news", ""}) {
    Notification note;
    note.id = "w" + std::to_string(++count);
    note.contact = "mara";
    note.made_at = now.wall;
    note.reason = reason;
    outbox.add(count, note, std::nullopt, now.steady);
  }
  Outbox again;
  for (const Change& change : save())
    EXPECT_TRUE(again.restore(change.key.substr(7), *change.value, {now.steady, now.wall}));
  EXPECT_EQ(again.find("w1")->note.reason, "raised");
  EXPECT_EQ(again.find("w2")->note.reason, "reminder");
  EXPECT_EQ(again.find("w3")->note.reason, "news");
  EXPECT_EQ(again.find("w4")->note.reason, "");
}

TEST_F(Box, ComesBackAsItWas) {
  const std::string one = add(Urgency::high);
  add(Urgency::medium);
  std::map<std::string, Tree> store;
  const auto keep = [&] {
    for (const Change& change : save()) store[change.key] = *change.value;
  };
  keep();
  due();
  answer(one, Outcome::try_again, "timeout");
  answer("m2", Outcome::failed, "550");
  keep();
  Outbox again;
  for (const auto& [key, tree] : store)
    EXPECT_TRUE(again.restore(key.substr(7), tree, {now.steady, now.wall}));
  EXPECT_EQ(again.next_deadline(), now.steady + 1s);
  ASSERT_EQ(again.waiting().size(), 2U);
  EXPECT_EQ(again.find("m1")->note, outbox.find("m1")->note);
  EXPECT_TRUE(again.find("m2")->failed);
  EXPECT_EQ(again.find("m2")->due, now.steady + 1s);
  EXPECT_EQ(again.last_number(), 2U);
}

TEST_F(Box, RefusesTreesThatAreNoMessages) {
  EXPECT_FALSE(outbox.restore("m1", Tree("x"), {now.steady, now.wall}));
  Tree tree = Tree::map();
  tree.add("number", Tree("99999999999999999999"));
  EXPECT_FALSE(outbox.restore("m1", tree, {now.steady, now.wall}));
  EXPECT_THAT(outbox.waiting(), IsEmpty());
}

}  // namespace
}  // namespace clutchward
