// What becomes of alarms: answers, standing, chatter, and what is no annunciation.
#include "quality/tally.h"

#include <gtest/gtest.h>

#include "events.h"

namespace clutchward {
namespace {

using quality_test::at_value;
using quality_test::event;
using quality_test::kStart;
using namespace std::chrono_literals;

class Tally {
 public:
  Tally& say(Span at, EventKind kind, const std::string& alarm = "high",
             Priority priority = Priority::high) {
    tally_.take(event(at, kind, alarm), priority);
    return *this;
  }
  Tally& say(const AlarmEvent& one) {
    tally_.take(one, Priority::high);
    return *this;
  }
  TallyFigures until(Span end) const { return tally_.figures(kStart, kStart + end); }

 private:
  AlarmTally tally_;
};

TEST(AlarmTally, CountsWhatIsToldAndNothingElse) {
  const auto figures = Tally()
                           .say(1min, EventKind::raised)
                           .say(2min, EventKind::acknowledged)
                           .say(32min, EventKind::raised_again)
                           .say(33min, EventKind::worsened)
                           .say(34min, EventKind::passed_on)
                           .say(40min, EventKind::returned)
                           .say(41min, EventKind::reset)
                           .until(1h);
  EXPECT_EQ(figures.events, 7U);
  EXPECT_EQ(figures.raised, 1U);
  EXPECT_EQ(figures.load.alarms, 3U);
  EXPECT_EQ(figures.annunciated_by_priority.at("high"), 3U);
  EXPECT_EQ(figures.acknowledged, 1U);
  // From the first telling a minute, from the last one (worsened at 33) eight.
  EXPECT_EQ(figures.answers.count(), 2U);
  EXPECT_EQ(figures.answers.percentile(50), Span(1min));
  EXPECT_EQ(figures.answers.percentile(95), Span(8min));
}

TEST(AlarmTally, TellsThoseThatNobodyAcknowledged) {
  const auto figures = Tally()
                           .say(1min, EventKind::raised, "one")
                           .say(2min, EventKind::returned, "one")
                           .say(10min, EventKind::raised, "one")  // the first was never answered
                           .say(11min, EventKind::acknowledged, "one")
                           .say(12min, EventKind::raised, "two")
                           .say(13min, EventKind::snoozed, "two")
                           .say(14min, EventKind::returned, "two")
                           .say(15min, EventKind::raised, "three")
                           .until(1h);
  EXPECT_EQ(figures.acknowledged, 1U);
  EXPECT_EQ(figures.never_acknowledged, 2U);
  EXPECT_EQ(figures.only_snoozed, 1U);
  EXPECT_EQ(figures.unanswered, 1U);  // the third still stands
  EXPECT_EQ(figures.different, 3U);
}

TEST(AlarmTally, ARaiseDuringASnoozeIsNotToldUntilItsEnd) {
  const auto figures = Tally()
                           .say(1min, EventKind::raised)
                           .say(2min, EventKind::snoozed)
                           .say(5min, EventKind::returned)
                           .say(9min, EventKind::raised)
                           .say(32min, EventKind::raised_again)
                           .say(33min, EventKind::acknowledged)
                           .until(1h);
  EXPECT_EQ(figures.raised, 2U);
  EXPECT_EQ(figures.load.alarms, 2U);
  EXPECT_EQ(figures.answers.percentile(50), Span(1min));
}

TEST(AlarmTally, WhatBeganBeforeTheRecordCountsForNothing) {
  const auto figures =
      Tally().say(1min, EventKind::returned).say(2min, EventKind::acknowledged).until(1h);
  EXPECT_EQ(figures.raised, 0U);
  EXPECT_EQ(figures.answers.count(), 0U);
  EXPECT_EQ(figures.different, 0U);
}

TEST(AlarmTally, CountsStaleOnesByTheDay) {
  Tally tally;
  for (const char* alarm : {"a", "b"}) tally.say(0h, EventKind::raised, alarm);
  tally.say(30h, EventKind::returned, "a");
  const auto figures = tally.until(80h);
  EXPECT_EQ(figures.stale, 2U);
  EXPECT_EQ(figures.stale_a_day, 2U);  // both on the second of March
}

TEST(AlarmTally, SaysWhatWouldHaveStoppedTheChatter) {
  Tally tally;
  for (int i = 0; i < 3; ++i) {
    tally.say(at_value(event(i * 20s, EventKind::raised), 39'600, 39'500));
    tally.say(at_value(event(i * 20s + 6s + i * 1s, EventKind::returned), 39'290 - i * 10, 39'500));
  }
  const auto figures = tally.until(1h);
  ASSERT_EQ(figures.worst.size(), 1U);
  EXPECT_TRUE(figures.worst[0].chatters);
  EXPECT_EQ(figures.chattering, 1U);
  // The third was followed by none: 7 s and 0.22 C of the second are the most.
  EXPECT_EQ(figures.worst[0].stood, Span(7s));
  EXPECT_EQ(figures.worst[0].swing, 220);
  EXPECT_NEAR(figures.worst[0].chatter_index, 0.05, 1e-12);
  EXPECT_EQ(figures.worst_chatter_index, 0);  // two gaps are too few
}

TEST(AlarmTally, FleetingIsGoneWithinTenSecondsAndDoesNotComeAgain) {
  const auto figures = Tally()
                           .say(0s, EventKind::raised)
                           .say(9s, EventKind::returned)
                           .say(30s, EventKind::raised)  // within the minute: no fleeting one
                           .say(35s, EventKind::returned)
                           .say(5min, EventKind::raised)
                           .say(5min + 10s, EventKind::returned)
                           .until(1h);
  EXPECT_EQ(figures.fleeting, 1U);
}

TEST(AlarmTally, ABatchThatMovesTakesItsAlarmsAlong) {
  const auto figures = Tally()
                           .say(event(0h, EventKind::raised, "high", "setter-a"))
                           .say(event(1h, EventKind::returned, "high", "hatcher-a"))
                           .until(50h);
  EXPECT_EQ(figures.different, 1U);
  EXPECT_EQ(figures.stale, 0U);
  EXPECT_EQ(figures.worst[0].key.cabinet, "hatcher-a");
}

TEST(AlarmTally, KeepsTheWorstTen) {
  Tally tally;
  for (int alarm = 0; alarm < 15; ++alarm)
    for (int i = 0; i <= alarm; ++i)
      tally.say(alarm * 10h + i * 20min, EventKind::raised, "rule-" + std::to_string(alarm));
  const auto figures = tally.until(200h);
  EXPECT_EQ(figures.raised, 120U);
  EXPECT_EQ(figures.different, 15U);
  ASSERT_EQ(figures.worst.size(), 10U);
  EXPECT_EQ(figures.worst[0].key.alarm, "rule-14");
  EXPECT_EQ(figures.ten_most, 105U);
}

TEST(WaitTimes, AreNearestRanks) {
  WaitTimes times;
  EXPECT_EQ(times.percentile(50), std::nullopt);
  for (int i = 1; i <= 20; ++i) times.take(i * 1s);
  EXPECT_EQ(times.percentile(50), Span(10s));
  EXPECT_EQ(times.percentile(95), Span(19s));
  EXPECT_EQ(times.percentile(100), Span(20s));
  times.take(2h + 59s);  // to the minute past an hour
  EXPECT_EQ(times.percentile(100), Span(2h));
}

}  // namespace
}  // namespace clutchward
