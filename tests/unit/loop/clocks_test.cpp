// When the wall clock is believed, and when it was set.
#include "loop/clocks.h"

#include <gtest/gtest.h>

namespace clutchward {
namespace {

constexpr Wall day(int year, unsigned month, unsigned date) {
  return std::chrono::sys_days(std::chrono::year(year) / std::chrono::month(month) /
                               std::chrono::day(date));
}

TEST(Clocks, GoForwardAndAgree) {
  const Moment before = now(true);
  const auto fine = fine_now();
  const Moment after = now(false);
  EXPECT_LE(before.steady, after.steady);
  EXPECT_LE(before.steady.time_since_epoch() - fine, Span{0});
  EXPECT_TRUE(before.wall_trusted);
  EXPECT_FALSE(after.wall_trusted);
}

TEST(Clocks, KnowWhenTheProgramWasBuilt) {
  EXPECT_GE(build_time(), day(2026, 1, 1));
  EXPECT_LE(build_time(), wall_now() + std::chrono::hours(24));
}

TEST(WallTrust, NeedsATimeNotBeforeTheBuildAndTheLastSaved) {
  const Wall built = day(2026, 3, 1);
  EXPECT_FALSE(wall_is_trusted(day(1970, 1, 1), std::nullopt, false, built));
  EXPECT_FALSE(wall_is_trusted(built - Span{1}, std::nullopt, false, built));
  EXPECT_TRUE(wall_is_trusted(built, std::nullopt, false, built));
  EXPECT_FALSE(wall_is_trusted(built, built + Span{1}, false, built));
  EXPECT_TRUE(wall_is_trusted(built + Span{1}, built + Span{1}, false, built));
  EXPECT_FALSE(wall_is_trusted(built - Span{1}, built - Span{2}, false, built));
}

TEST(WallTrust, FollowsATimeServiceThatHasSetTheClock) {
  EXPECT_TRUE(wall_is_trusted(day(2025, 1, 1), day(2030, 1, 1), true, day(2026, 3, 1)));
}

TEST(StepDetector, TellsStepsOfMoreThanTwoSeconds) {
  StepDetector detector;
  const auto turn = [&detector](int steady, int wall) {
    return detector.turn({Steady(Span(steady)), Wall(Span(wall)), true});
  };
  EXPECT_EQ(std::nullopt, turn(1000, 500'000));
  EXPECT_EQ(std::nullopt, turn(61'000, 560'000));
  EXPECT_EQ(std::nullopt, turn(62'000, 563'000));  // exactly two seconds
  EXPECT_EQ(Span(2001), turn(63'000, 566'001));
  EXPECT_EQ(std::nullopt, turn(64'000, 567'001));
  EXPECT_EQ(Span(-3'600'000), turn(65'000, 567'001 - 3'600'000 + 1000));
  EXPECT_EQ(std::nullopt, turn(66'000, 567'001 - 3'600'000 + 2000));
}

}  // namespace
}  // namespace clutchward
