// When the planned test message goes out. 2026-03-02 is a Monday (cal(1)); no published source.
#include "app/test_round.h"

#include <gtest/gtest.h>

namespace clutchward {
namespace {

using namespace std::chrono_literals;

Wall at(const char* text) { return *parse_rfc3339(text); }
Moment moment(const char* text, bool trusted = true) {
  return {Steady(at(text).time_since_epoch()), at(text), trusted};
}

TEST(TestRound, OnItsDayAtItsHourOnce) {
  const TestSettings monday;  // at 09:00
  TestRound round;
  EXPECT_FALSE(round.due(moment("2026-03-01T08:00:00Z"), monday, Zone()));  // the watch begins
  EXPECT_FALSE(round.due(moment("2026-03-01T09:00:00Z"), monday, Zone()));  // a Sunday
  EXPECT_FALSE(round.due(moment("2026-03-02T08:59:59Z"), monday, Zone()));
  EXPECT_TRUE(round.due(moment("2026-03-02T09:00:00Z"), monday, Zone()));
  round.told(at("2026-03-02T09:00:00Z"));
  EXPECT_FALSE(round.due(moment("2026-03-02T09:00:10Z"), monday, Zone()));
  EXPECT_FALSE(round.due(moment("2026-03-09T08:59:59Z"), monday, Zone()));
  EXPECT_TRUE(round.due(moment("2026-03-09T09:00:05Z"), monday, Zone()));
}

TEST(TestRound, OnSeveralDays) {
  TestSettings test;
  test.on = {std::chrono::Tuesday, std::chrono::Sunday};
  test.at = 18h;
  TestRound round;
  round.told(at("2026-03-02T00:00:00Z"));
  EXPECT_FALSE(round.due(moment("2026-03-02T18:00:00Z"), test, Zone()));
  EXPECT_TRUE(round.due(moment("2026-03-03T18:00:00Z"), test, Zone()));
  round.told(at("2026-03-03T18:00:00Z"));
  EXPECT_FALSE(round.due(moment("2026-03-07T18:00:00Z"), test, Zone()));
  EXPECT_TRUE(round.due(moment("2026-03-08T18:00:00Z"), test, Zone()));
}

TEST(TestRound, TheDayIsTheSitesOwn) {
  // Half past eleven in the evening of the Sunday at UTC is Monday there.
  const Zone east("East", {{Wall{}, 2h, "EAST"}});
  TestSettings test;
  test.at = 1h + 30min;
  TestRound round;
  round.told(at("2026-03-01T12:00:00Z"));
  EXPECT_FALSE(round.due(moment("2026-03-01T23:29:59Z"), test, east));
  EXPECT_TRUE(round.due(moment("2026-03-01T23:30:00Z"), test, east));
}

TEST(TestRound, AMissedOneIsMadeUpForWithinHalfADayOnly) {
  const TestSettings monday;
  TestRound round;
  round.told(at("2026-03-01T12:00:00Z"));
  TestRound late = round;
  EXPECT_TRUE(round.due(moment("2026-03-02T20:59:00Z"), monday, Zone()));
  EXPECT_FALSE(late.due(moment("2026-03-02T21:01:00Z"), monday, Zone()));
  EXPECT_FALSE(late.due(moment("2026-03-03T09:00:00Z"), monday, Zone()));
  EXPECT_TRUE(late.due(moment("2026-03-09T09:00:00Z"), monday, Zone()));
  // Years in a drawer are no long walk.
  TestRound old;
  old.told(at("1970-01-01T00:00:00Z"));
  EXPECT_TRUE(old.due(moment("2026-03-02T10:00:00Z"), monday, Zone()));
}

TEST(TestRound, WaitsForAClockAndOutlivesItsSteps) {
  const TestSettings monday;
  TestRound round;
  round.told(at("2026-03-01T12:00:00Z"));
  EXPECT_FALSE(round.due(moment("2026-03-02T09:00:00Z", false), monday, Zone()));
  EXPECT_TRUE(round.due(moment("2026-03-02T09:05:00Z"), monday, Zone()));
  round.told(at("2026-03-02T09:05:00Z"));
  // A day back: Monday's hour passes again, and is not silent until the old time is reached.
  EXPECT_FALSE(round.due(moment("2026-03-01T09:06:00Z"), monday, Zone()));
  EXPECT_TRUE(round.due(moment("2026-03-02T09:00:00Z"), monday, Zone()));
}

TEST(TestRound, IsKeptOverARestart) {
  TestRound round;
  round.told(at("2026-03-02T09:00:01Z"));
  TestRound again;
  again.restore(round.keep());
  EXPECT_EQ(again.last(), round.last());
  EXPECT_FALSE(again.due(moment("2026-03-02T09:00:20Z"), TestSettings(), Zone()));
}

}  // namespace
}  // namespace clutchward
