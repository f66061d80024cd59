// Windows, shares and bands of a stream of alarms.
#include "quality/load.h"

#include <gtest/gtest.h>

namespace clutchward {
namespace {

using namespace std::chrono_literals;

constexpr Wall kStart{Span{1772352000000}};  // 2026-03-01T08:00:00Z

TEST(LoadCount, KnowsNothingOfNothing) {
  const LoadFigures none = LoadCount().figures(kStart, kStart);
  EXPECT_EQ(none, LoadFigures());
  EXPECT_EQ(none.per_day(), 0);
  EXPECT_EQ(none.flood_alarm_share(), 0);
}

TEST(LoadCount, CountsWindowsThatBeganAndQuietOnesBetween) {
  LoadCount load;
  load.take(kStart + 5min);
  load.take(kStart + 47min);
  const LoadFigures figures = load.figures(kStart, kStart + 61min);
  EXPECT_EQ(figures.alarms, 2U);
  EXPECT_EQ(figures.windows, 7U);
  EXPECT_EQ(figures.peak, 1U);
  // Up to a window's end and no further.
  EXPECT_EQ(load.figures(kStart, kStart + 60min).windows, 6U);
}

TEST(LoadCount, AQuietWindowEndsAFlood) {
  LoadCount load;
  for (const Span at : {0min, 20min})
    for (int i = 0; i < 11; ++i) load.take(kStart + at + i * 1s);
  const LoadFigures figures = load.figures(kStart, kStart + 30min);
  EXPECT_EQ(figures.floods, 2U);
  EXPECT_EQ(figures.flood_windows, 2U);
  EXPECT_EQ(figures.flood_alarms, 22U);
  EXPECT_NEAR(figures.flood_time_share(), 2.0 / 3, 1e-12);
}

TEST(LoadCount, WhatIsEarlierThanTheLastCountsThere) {
  LoadCount load;
  load.take(kStart + 25min);
  load.take(kStart + 3min);
  EXPECT_EQ(load.figures(kStart, kStart + 30min).peak, 2U);
}

}  // namespace
}  // namespace clutchward
