// Lines and robust scores against published sets.
#include "statistics/robust.h"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <vector>

#include "statistics/line.h"

namespace clutchward {
namespace {

// NIST StRD, linear regression, Norris (itl.nist.gov/div898/strd/lls/data/Norris.shtml), 36 points
// and certified values, as quoted in the tests of three numerical libraries that agree.
constexpr std::array<Point, 36> kNorris = {
    {{0.2, 0.1},     {337.4, 338.8}, {118.2, 118.1}, {884.6, 888.0}, {10.1, 9.2},    {226.5, 228.1},
     {666.3, 668.5}, {996.3, 998.5}, {448.6, 449.1}, {777.0, 778.9}, {558.2, 559.2}, {0.4, 0.3},
     {0.6, 0.1},     {775.5, 778.1}, {666.9, 668.8}, {338.0, 339.3}, {447.5, 448.9}, {11.6, 10.8},
     {556.0, 557.7}, {228.1, 228.3}, {995.8, 998.0}, {887.6, 888.8}, {120.2, 119.6}, {0.3, 0.3},
     {0.3, 0.6},     {556.8, 557.6}, {339.1, 339.3}, {887.2, 888.0}, {999.0, 998.5}, {779.0, 778.9},
     {11.1, 10.2},   {118.3, 117.6}, {229.2, 228.9}, {669.1, 668.4}, {448.9, 449.2}, {0.5, 0.2}}};

TEST(Line, FitsNorris) {
  const auto line = fit(kNorris);
  ASSERT_TRUE(line);
  EXPECT_NEAR(line->slope, 1.00211681802045, 1e-13);
  EXPECT_NEAR(line->intercept(), -0.262323073774029, 1e-11);
  EXPECT_NEAR(line->slope_error, 4.29796848199937e-4, 1e-15);
  EXPECT_NEAR(line->residual_sd, 0.884796396144373, 1e-12);
}

// Far from zero nothing is lost: the same points with 1.7e12 (a wall clock in milliseconds) added
// to x.
TEST(Line, FitsNorrisFarFromZero) {
  auto far = kNorris;
  for (Point& point : far) point.x = std::round(point.x * 10) + 1.7e12;
  const auto line = fit(far);
  ASSERT_TRUE(line);
  EXPECT_NEAR(line->slope * 10, 1.00211681802045, 1e-9);
}

// 37.50 rising 0.02 a minute for ten minutes, limit 38.5: 1.2 C an hour, 37.70 now, 40 min to go
// (plain arithmetic).
TEST(Line, SaysWhenALevelIsReached) {
  std::vector<Point> points;
  for (int minute = 0; minute <= 10; ++minute)
    points.push_back({minute * 1.0, 37.5 + 0.02 * minute});
  const auto line = fit(points);
  ASSERT_TRUE(line);
  EXPECT_NEAR(line->slope * 60, 1.2, 1e-12);
  EXPECT_NEAR(line->at(10), 37.70, 1e-12);
  EXPECT_NEAR(*line->reaches(38.5, 10), 50, 1e-9);
  EXPECT_FALSE(line->reaches(37.0, 10));
  EXPECT_NEAR(line->slope_error, 0, 1e-12);
}

TEST(Line, HasNoneWhereThereIsNoSlope) {
  EXPECT_FALSE(fit(std::array<Point, 1>{{{1, 2}}}));
  EXPECT_FALSE(fit(std::array<Point, 2>{{{1, 2}, {1, 3}}}));
  EXPECT_FALSE(fit(std::array<Point, 3>{{{1, 2}, {2, 2}, {3, 2}}})->reaches(3, 3));
}

// Iglewicz and Hoaglin (1993), How to Detect and Handle Outliers: data and scores as quoted by a
// public project. The plain 3-sigma rule misses both outliers.
TEST(ModifiedScores, AreIglewiczAndHoaglins) {
  const std::vector<double> values = {2.1, 2.6, 2.4, 2.5, 2.3, 2.1, 2.3, 2.6, 8.2, 8.3};
  EXPECT_NEAR(median(values), 2.45, 1e-12);
  EXPECT_NEAR(median_deviation(values), 0.15, 1e-12);
  const std::vector<double> expected = {-1.57383333, 0.6745,  -0.22483333, 0.22483333,  -0.6745,
                                        -1.57383333, -0.6745, 0.6745,      25.85583333, 26.3055};
  const auto scores = modified_scores(values, 1e-9);
  for (std::size_t i = 0; i < values.size(); ++i) {
    EXPECT_NEAR(scores[i], expected[i], 1e-8) << i;
    EXPECT_EQ(std::abs(scores[i]) > kOutlierScore, values[i] > 8);
  }
}

// Second published set (data as seen in a public script): scores 22.4833 and 24.7317.
TEST(ModifiedScores, HoldForASecondSet) {
  const auto scores =
      modified_scores({3.2, 3.4, 3.7, 3.7, 3.8, 3.9, 4, 4, 4.1, 4.2, 4.7, 4.8, 14, 15}, 1e-9);
  EXPECT_NEAR(scores[12], 22.4833, 1e-4);
  EXPECT_NEAR(scores[13], 24.7317, 1e-4);
}

// Probes (plain arithmetic by the published formula): of three the one that is off is far out; of
// two neither is ever told from the other, so that an absolute rule is needed.
TEST(ModifiedScores, OfTwoAndOfThreeProbes) {
  const auto three = modified_scores({37.5, 37.6, 39.9}, 1e-9);
  EXPECT_NEAR(three[2], 15.51, 0.005);
  for (const double score : modified_scores({37.4, 37.6}, 1e-9))
    EXPECT_NEAR(std::abs(score), 0.6745, 1e-9);
  for (const double score : modified_scores({37.5, 37.5, 38.4, 38.4}, 1e-9))
    EXPECT_LT(std::abs(score), kOutlierScore);  // and 0.9 C lie between them
}

// Why the scale has a floor: four equal values and one that is off have a MAD of 0.
TEST(ModifiedScores, HaveAFloor) {
  const auto scores = modified_scores({37.5, 37.5, 37.5, 37.5, 36.0}, 0.5);
  EXPECT_EQ(scores[0], 0);
  EXPECT_NEAR(scores[4], -2.0235, 1e-9);
}

// NIST StRD univariate, NumAcc1 to 3: certified lag-1 autocorrelation -0.5 and -0.999 (exact, in
// the headers of NIST's files). Made here by the rule in those headers.
TEST(Autocorrelation, HoldsForNumAcc1To3) {
  EXPECT_NEAR(lag1_autocorrelation(std::vector<double>{10000001, 10000003, 10000002}), -0.5, 1e-9);
  std::vector<double> second = {1.2};
  std::vector<double> third = {1000000.2};
  for (int i = 0; i < 500; ++i) {
    for (const double x : {1.1, 1.3}) second.push_back(x);
    for (const double x : {1000000.1, 1000000.3}) third.push_back(x);
  }
  EXPECT_NEAR(lag1_autocorrelation(second), -0.999, 1e-9);
  EXPECT_NEAR(lag1_autocorrelation(third), -0.999, 1e-8);
}

// NIST StRD NumAcc4 (certified: lag-1 autocorrelation -0.999, exact): 1001 values around
// 10000000.2, which a one-pass sum of squares gets wrong. Made here by the rule in the header of
// NIST's file.
TEST(Autocorrelation, HoldsForNumAcc4) {
  std::vector<double> values = {10000000.2};
  for (int i = 0; i < 500; ++i) {
    values.push_back(10000000.1);
    values.push_back(10000000.3);
  }
  EXPECT_NEAR(lag1_autocorrelation(values), -0.999, 1e-8);
  EXPECT_EQ(lag1_autocorrelation(std::vector<double>{5, 5, 5}), 0);
}

}  // namespace
}  // namespace clutchward
