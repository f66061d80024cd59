// Weighings as keepers bring them: eggs taken out, days missed, slips of the pen.
#include "incubation/mass_loss.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

namespace clutchward {
namespace {

const WantedLoss kHen{12, 18};

TEST(MassLoss, OneWeighingAtSettingTellsNoRate) {
  const auto loss = mass_loss({{0, 600, 10}}, kHen);
  ASSERT_TRUE(loss) << loss.why();
  EXPECT_EQ(loss->set_mass_g, 60);
  EXPECT_EQ(loss->lost_percent, 0);
  EXPECT_EQ(loss->line_percent, 0);
  EXPECT_FALSE(loss->daily_percent);
  EXPECT_FALSE(loss->projected_percent);
  EXPECT_NEAR(*loss->needed_daily_percent, 12.0 / 18, 1e-12);
}

TEST(MassLoss, OnTheLineProjectsTheWantedLoss) {
  const auto loss = mass_loss({{0, 600, 10}, {9, 564, 10}}, kHen);
  ASSERT_TRUE(loss) << loss.why();
  EXPECT_NEAR(loss->lost_percent, 6, 1e-9);
  EXPECT_NEAR(loss->line_percent, 6, 1e-9);
  EXPECT_NEAR(*loss->daily_percent, 6.0 / 9, 1e-9);
  EXPECT_NEAR(*loss->projected_percent, 12, 1e-9);
  EXPECT_NEAR(*loss->needed_daily_percent, 6.0 / 9, 1e-9);
  EXPECT_FALSE(loss->compared_by_mean);
}

TEST(MassLoss, PresentRateIsTheLastThreeDaysOrMore) {
  // 0.3 % a day to day 10, 0.9 % a day since; the weighing on day 13 alone is too near.
  const auto loss = mass_loss({{0, 1000, 20}, {10, 970, 20}, {13, 943, 20}, {14, 934, 20}}, kHen);
  ASSERT_TRUE(loss) << loss.why();
  EXPECT_NEAR(*loss->daily_percent, 0.9, 1e-9);
  EXPECT_NEAR(*loss->projected_percent, 6.6 + 4 * 0.9, 1e-9);
}

TEST(MassLoss, EggsTakenOutAndWeighedAgainThatDayLoseNothing) {
  // Two heavy clears of 70 g each leave on day 7; the rest goes on at 0.5 % a day.
  const auto loss =
      mass_loss({{0, 620, 10}, {7, 598.3, 10}, {7.05, 458.3, 8}, {14, 442.2595, 8}}, kHen);
  ASSERT_TRUE(loss) << loss.why();
  EXPECT_FALSE(loss->compared_by_mean);
  EXPECT_NEAR(loss->lost_percent, 100 * (1 - 0.965 * 0.965), 1e-6);
}

TEST(MassLoss, EggsTakenOutUnweighedAreComparedByTheirMean) {
  const auto loss = mass_loss({{0, 600, 10}, {7, 463.2, 8}}, kHen);
  ASSERT_TRUE(loss) << loss.why();
  EXPECT_TRUE(loss->compared_by_mean);
  EXPECT_NEAR(loss->lost_percent, 3.5, 1e-9);
}

TEST(MassLoss, SetMassIsDrawnBackWhereNobodyWeighedAtSetting) {
  // True line: 60 g, 0.3 g a day.
  const auto loss = mass_loss({{5, 585, 10}, {10, 570, 10}}, kHen);
  ASSERT_TRUE(loss) << loss.why();
  EXPECT_TRUE(loss->set_mass_estimated);
  EXPECT_NEAR(loss->set_mass_g, 60, 1e-9);
  EXPECT_NEAR(loss->lost_percent, 5, 1e-9);
  EXPECT_NEAR(*loss->daily_percent, 0.5, 1e-9);
}

TEST(MassLoss, AfterLockdownNothingIsAskedForAnyMore) {
  const auto loss = mass_loss({{0, 600, 10}, {18, 528, 10}}, kHen);
  ASSERT_TRUE(loss) << loss.why();
  EXPECT_FALSE(loss->needed_daily_percent);
  EXPECT_FALSE(loss->projected_percent);
}

TEST(MassLoss, RefusesWeighingsThatCannotBe) {
  EXPECT_EQ(mass_loss({{0, 600, 10}, {7, 610, 10}}, kHen).why(),
            "weighing 2: heavier than the last weighing: 61.00 g an egg found, 60.00 g on day 0: "
            "eggs gain no mass; check scale, container and count");
  EXPECT_EQ(mass_loss({{0.0000302, 600, 10}, {7.26, 610, 10}, {8, 620, 10}}, kHen).why(),
            "weighing 2: heavier than the last weighing: 61.00 g an egg found, 60.00 g on day 0: "
            "eggs gain no mass; check scale, container and count");
  EXPECT_EQ(mass_loss({{0, 600, 10}, {7, 58, 10}}, kHen).why(),
            "weighing 2: less than half of the last weighing: 5.80 g an egg found, 60.00 g on day "
            "0: check the decimal point and the count");
  EXPECT_EQ(mass_loss({{7, 600, 10}, {6, 590, 10}}, kHen).why(),
            "weighing 2: day of weighing: 6 found, not before the last weighing on day 7 expected");
  EXPECT_EQ(mass_loss({{0, 600, 0}}, kHen).why(),
            "weighing 1: eggs weighed: 0 found, 1 or more expected");
  EXPECT_EQ(mass_loss({}, kHen).why(), "no weighing yet: one on the day of setting is expected");
  EXPECT_EQ(mass_loss({{7, 600, 10}}, kHen).why(),
            "first weighing on day 7: a second one, three days later or more, is expected before "
            "the loss since setting can be told");
  EXPECT_EQ(mass_loss({{0, 600, 10}}, {60, 18}).why(),
            "wanted loss: 60 % found, 1 to 40 % expected");
  EXPECT_FALSE(mass_loss({{-1, 600, 10}}, kHen));
  EXPECT_FALSE(mass_loss({{0, std::numeric_limits<double>::quiet_NaN(), 10}}, kHen));
  EXPECT_FALSE(mass_loss({{0, HUGE_VAL, 10}}, kHen));
}

TEST(MassLoss, ASecondWeighingOfFewerHeavierEggsIsNoFault) {
  EXPECT_FALSE(weighing_fault({{7, 580, 10}}, {7.02, 474, 8}));
  EXPECT_TRUE(weighing_fault({{7, 580, 10}}, {8, 474, 8}));
}

TEST(MassLoss, HumidityThatBringsItBack) {
  EXPECT_NEAR(*humidity_for_loss_percent(50, 0.6, 0.6), 50, 1e-12);
  EXPECT_EQ(humidity_for_loss_percent(55, 0.3, -0.1).why(),
            "the eggs have lost more than is wanted at lockdown; no humidity gives it back");
  EXPECT_EQ(humidity_for_loss_percent(50, 0.3, 0.7).why(),
            "even perfectly dry air would take too little: 0.60 a day at most, where 0.70 is "
            "wanted");
  EXPECT_EQ(humidity_for_loss_percent(55, 0, 0.5).why(),
            "observed daily loss: 0 found, more than 0 expected");
  EXPECT_EQ(*humidity_for_loss_percent(55, 0.4, 0), 100);
}

}  // namespace
}  // namespace clutchward
