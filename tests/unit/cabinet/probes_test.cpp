// Combining probes (alarm-semantics section 2), and the silent ones of section 3, against plain
// arithmetic.
#include "cabinet/probes.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <random>

namespace clutchward {
namespace {

using namespace std::chrono_literals;

constexpr Steady kNow{Span{100'000'000}};

Combined of(std::vector<Milli> values, Combine how) { return combine(values, how); }

std::vector<Probe> probes(std::initializer_list<std::pair<Milli, Span>> values_and_ages) {
  std::vector<Probe> all;
  for (const auto& [value, age] : values_and_ages) {
    Probe probe;
    probe.value = value;
    probe.at = kNow - age;
    probe.heard = true;
    probe.name = static_cast<std::uint32_t>(all.size());
    all.push_back(probe);
  }
  return all;
}

Seen renewed(const std::vector<Probe>& all, Combine how = Combine::by_count) {
  Seen seen;
  renew(seen, all, Quantity::temperature, how, kNow, 5min);
  return seen;
}

TEST(Combine, MedianAndItsEvenCount) {
  EXPECT_EQ(of({37'500}, Combine::median), (Combined{37'500, 37'500}));
  EXPECT_EQ(of({40'000, 37'000, 37'600}, Combine::median), (Combined{37'600, 37'600}));
  EXPECT_EQ(of({40'000, 39'001, 38'000, 37'000}, Combine::median), (Combined{38'501, 38'501}));
  EXPECT_EQ(of({-5'000, -5'001}, Combine::median), (Combined{-5'001, -5'001})) << "away from zero";
  EXPECT_EQ(of({-1, 0}, Combine::median), (Combined{-1, -1}));
  EXPECT_EQ(of({0, 1}, Combine::median), (Combined{1, 1}));
}

TEST(Combine, MeanIsRoundedOnce) {
  EXPECT_EQ(of({37'500, 37'500, 37'501}, Combine::mean).above, 37'500);
  EXPECT_EQ(of({37'500, 37'501, 37'501}, Combine::mean).above, 37'501);
  EXPECT_EQ(of({-1, -2}, Combine::mean).above, -2);
  EXPECT_EQ(of({1, 2}, Combine::mean).above, 2);
  EXPECT_EQ(of({-20'000, 60'000}, Combine::mean).below, 20'000);
}

TEST(Combine, WorstSeesBothEnds) {
  EXPECT_EQ(of({37'500, 36'000, 39'000}, Combine::worst), (Combined{39'000, 36'000}));
}

TEST(Combine, ByCountIsMedianFromThreeOn) {
  EXPECT_EQ(of({37'500, 40'000}, Combine::by_count), (Combined{40'000, 37'500}));
  EXPECT_EQ(of({37'500, 40'000, 38'000}, Combine::by_count), (Combined{38'000, 38'000}));
}

TEST(Combine, AgreesWithPlainArithmetic) {
  std::mt19937 random(7);
  for (int round = 0; round < 2000; ++round) {
    std::vector<Milli> values(1 + random() % 9);
    for (Milli& value : values) value = static_cast<Milli>(random() % 80'001) - 20'000;
    std::vector<Milli> sorted = values;
    std::sort(sorted.begin(), sorted.end());
    long double sum = 0;
    for (const Milli value : values) sum += value;
    const auto mean = static_cast<Milli>(std::llround(sum / values.size()));
    EXPECT_EQ(of(values, Combine::mean).above, mean) << "round " << round;
    const std::size_t n = sorted.size();
    const auto median =
        n % 2 == 1 ? sorted[n / 2]
                   : static_cast<Milli>(std::llround(
                         (static_cast<long double>(sorted[n / 2 - 1]) + sorted[n / 2]) / 2));
    EXPECT_EQ(of(values, Combine::median).below, median) << "round " << round;
  }
}

TEST(Renew, FreshWhileYoungerThanTheSilence) {
  EXPECT_EQ(renewed(probes({{37'500, 0s}, {39'000, 5min - 1ms}})).fresh_probes, 2);
  const Seen seen = renewed(probes({{37'500, 0s}, {39'000, 5min}}));
  EXPECT_EQ(seen.fresh_probes, 1);
  EXPECT_EQ(seen.fresh, (Combined{37'500, 37'500}));
  EXPECT_EQ(seen.with_silent, (Combined{39'000, 37'500})) << "still counted for the way back";
  EXPECT_EQ(seen.hottest, 37'500);
  EXPECT_EQ(seen.hottest_with_silent, 39'000);
}

TEST(Renew, TheDeadAreForgottenAnHourAfterTheyFellSilent) {
  EXPECT_EQ(renewed(probes({{37'500, 0s}, {39'000, 65min - 1ms}})).with_silent.above, 39'000);
  EXPECT_EQ(renewed(probes({{37'500, 0s}, {39'000, 65min}})).with_silent.above, 37'500);
}

TEST(Renew, OnlyAirOfTheQuantityThatWasHeard) {
  auto all = probes({{37'500, 0s}, {45'000, 0s}, {46'000, 0s}, {47'000, 0s}, {48'000, 0s}});
  all[1].part = Part::room;
  all[2].part = Part::egg;
  all[3].part = Part::ignore;
  all[4].quantity = Quantity::wet_bulb;
  EXPECT_EQ(renewed(all).fresh_probes, 1);
  EXPECT_EQ(renewed(all).hottest, 37'500);
  all[4] = all[0];
  all[4].value = 50'000;
  all[4].heard = false;  // a retained message alone
  EXPECT_EQ(renewed(all).hottest, 37'500);
}

TEST(Renew, CurrentWhileAnyProbeIsFresh) {
  const Seen seen = renewed(probes({{37'500, 0s}}));
  EXPECT_TRUE(seen.current(kNow + 5min - 1ms, 5min));
  EXPECT_FALSE(seen.current(kNow + 5min, 5min));
  EXPECT_FALSE(Seen{}.current(kNow, 5min)) << "nothing was ever heard";
}

}  // namespace
}  // namespace clutchward
