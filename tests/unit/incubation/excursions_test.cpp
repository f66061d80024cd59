// Excursions and answers on curves whose areas are known by hand. The dose between samples is plain
// geometry (trapezoids); there is no published table of such figures to hold them against.
#include "incubation/excursions.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace clutchward {
namespace {

using namespace std::chrono_literals;

std::vector<TemperatureSample> curve(std::initializer_list<double> values, Span step = 10min) {
  std::vector<TemperatureSample> out;
  for (const double value : values) out.push_back({step * static_cast<int>(out.size()), value});
  return out;
}

TEST(Excursions, DeviationsFollowTheStageAndPardonTheAiringOnlyBelow) {
  const auto samples = curve({37.5, 30.0, 38.5, 36.9});
  const auto off = deviations(samples, {{0min, 37.3}, {30min, 36.9}}, {{5min, 25min}});
  ASSERT_EQ(off.size(), 3U);
  EXPECT_NEAR(off[0].celsius, 0.2, 1e-9);
  EXPECT_NEAR(off[1].celsius, 1.2, 1e-9);  // heat within an airing is still heat
  EXPECT_EQ(off[1].at, 20min);
  EXPECT_NEAR(off[2].celsius, 0.0, 1e-9);
  EXPECT_TRUE(deviations(samples, {{2h, 37.3}}, {}).empty());
}

TEST(Excursions, AnExcursionHasItsAreaAndItsWidestStep) {
  // Up from 0 to 1.6 in 10 min, there for 20 min, and back: beyond 0.8 for 20 + 2 x 5 min.
  const auto found = excursions(curve({0, 0, 1.6, 1.6, 1.6, 0, 0}));
  ASSERT_TRUE(found);
  ASSERT_EQ(found->size(), 1U);
  const Excursion& each = found->front();
  EXPECT_EQ(each.side, Beyond::above);
  EXPECT_EQ(each.from, 20min);
  EXPECT_EQ(each.to, 40min);
  EXPECT_DOUBLE_EQ(each.extreme, 1.6);
  EXPECT_DOUBLE_EQ(each.step, 1.4);
  EXPECT_NEAR(each.dose.hours, 0.5, 1e-9);
  // 0.8 C over 20 min and two triangles of 0.8 C by 5 min.
  EXPECT_NEAR(each.dose.degree_hours, 0.8 / 3 + 0.8 / 12, 1e-9);
}

TEST(Excursions, ADeviationOnTheStepIsNone) {
  EXPECT_TRUE(excursions(curve({0, 0.8, -1.4, 0}))->empty());
}

TEST(Excursions, ASwingingThermostatIsOneAndTwoSidesAreTwo) {
  const auto found = excursions(curve({0, 1, 0, 1, 0, -3.5, 0}, 4min), 10min);
  ASSERT_EQ(found->size(), 2U);
  EXPECT_EQ((*found)[0].to, 12min);
  EXPECT_EQ((*found)[1].side, Beyond::below);
  EXPECT_DOUBLE_EQ((*found)[1].step, 3.0);
}

TEST(Excursions, StepsCountWhatIsBeyondEachOfThem) {
  const auto steps = step_hours(curve({0, 0, 1.6, 1.6, 1.6, 0, 0}));
  ASSERT_TRUE(steps);
  ASSERT_EQ(steps->size(), 5U);
  EXPECT_NEAR((*steps)[0].dose.hours, 0.5, 1e-9);
  EXPECT_NEAR((*steps)[1].dose.hours, (20 + 2 * 10 * 0.2 / 1.6) / 60, 1e-9);
  EXPECT_DOUBLE_EQ((*steps)[2].dose.hours, 0);
  EXPECT_DOUBLE_EQ((*steps)[3].dose.hours, 0);
}

TEST(Excursions, AMachineThatWarmsUpIsNoColdStretch) {
  const auto samples = curve({20, 30, 36, 37, 34, 30, 34, 37}, 30min);
  EXPECT_THAT(cold_stretches(samples, 35, 1h), ::testing::ElementsAre(ColdStretch{3, 7}));
  EXPECT_TRUE(cold_stretches(samples, 35, 2h).empty());
}

TEST(Answers, TheFirstAnswerCountsAndWhoGaveIt) {
  const auto got = answers({{0min, "a/high", "raised", ""},
                            {2min, "a/warm", "raised", ""},
                            {5min, "a/high", "returned", ""},
                            {9min, "a/high", "acknowledged", "mara"},
                            {20min, "a/high", "reset", "joss"},
                            {60min, "a/high", "raised", ""}});
  ASSERT_EQ(got.size(), 3U);
  EXPECT_EQ(got[0], (Answered{"a/high", 0min, 5min, 9min, "mara"}));
  EXPECT_EQ(got[1], (Answered{"a/warm", 2min, std::nullopt, std::nullopt, ""}));
  EXPECT_EQ(got[2], (Answered{"a/high", 60min, std::nullopt, std::nullopt, ""}));
}

TEST(Answers, WhatWasRaisedBeforeTheRecordIsPassedOver) {
  EXPECT_TRUE(answers({{0min, "a/high", "acknowledged", "mara"}}).empty());
}

}  // namespace
}  // namespace clutchward
