// The lag that no step length may change, and doses with exact crossings.
#include "incubation/egg_heat.h"

#include <gtest/gtest.h>

#include <cmath>

namespace clutchward {
namespace {

using std::chrono::hours;
using std::chrono::minutes;
using std::chrono::seconds;

TEST(EggHeat, StepLengthDoesNotMatter) {
  const double tau = 52.115;
  const double once = egg_after_steady_air(25, 38, 120, tau);
  double by_minute = 25;
  for (int i = 0; i < 120; ++i) by_minute = egg_after_steady_air(by_minute, 38, 1, tau);
  double by_second = 25;
  for (int i = 0; i < 7200; ++i)
    by_second = egg_after_changing_air(by_second, 38, 38, 1.0 / 60, tau);
  EXPECT_NEAR(once, by_minute, 1e-9);
  EXPECT_NEAR(once, by_second, 1e-9);
  EXPECT_EQ(egg_after_changing_air(30, 38, 20, 0, tau), 30);
}

TEST(EggHeat, IrregularSamplesFollowTheSameCurve) {
  std::vector<TemperatureSample> few{{minutes{0}, 37}, {minutes{10}, 38}, {minutes{30}, 38}};
  std::vector<TemperatureSample> many;
  for (int s = 0; s <= 1800; s += 7) many.push_back({seconds{s}, s < 600 ? 37 + s / 600.0 : 38.0});
  many.push_back({minutes{30}, 38});
  const auto a = egg_temperatures(few, 52, 37);
  const auto b = egg_temperatures(many, 52, 37);
  ASSERT_TRUE(a && b);
  EXPECT_NEAR(a->back().celsius, b->back().celsius, 1e-4);
}

TEST(EggHeat, AGapStartsTheEstimateAnew) {
  std::vector<TemperatureSample> air{{minutes{0}, 37.5}, {minutes{10}, 37.5}, {minutes{50}, 25}};
  for (int m = 60; m <= 260; m += 10) air.push_back({minutes{m}, 25});
  const auto eggs = egg_temperatures(air, 52, 37.5);
  ASSERT_TRUE(eggs);
  EXPECT_TRUE((*eggs)[1].settled);
  EXPECT_EQ((*eggs)[2].celsius, 25);
  EXPECT_FALSE((*eggs)[2].settled);
  EXPECT_FALSE((*eggs)[17].settled);  // minute 200: 150 min, under 3 x 52
  EXPECT_TRUE((*eggs)[18].settled);
  EXPECT_FALSE(egg_temperatures(air, 52)->front().settled);
}

TEST(EggHeat, ConstructedDoses) {
  // Constant, a ramp with a crossing inside, a symmetric triangle: areas by geometry.
  const Span wide = hours{3};
  EXPECT_EQ(*heat_dose({{hours{0}, 38.5}, {hours{2}, 38.5}}, Beyond::above, 37.5, wide),
            (HeatDose{2, 2}));
  const auto ramp = heat_dose({{hours{0}, 37}, {hours{1}, 38}}, Beyond::above, 37.5, wide);
  EXPECT_NEAR(ramp->degree_hours, 0.125, 1e-12);
  EXPECT_NEAR(ramp->hours, 0.5, 1e-12);
  const std::vector<TemperatureSample> triangle{
      {hours{0}, 37.5}, {hours{1}, 39.5}, {hours{2}, 37.5}};
  EXPECT_NEAR(heat_dose(triangle, Beyond::above, 37.5, wide)->degree_hours, 2, 1e-12);
  EXPECT_EQ(heat_dose(triangle, Beyond::below, 37.5, wide)->degree_hours, 0);
}

TEST(EggHeat, BandTellsGapsApartFromGoodHours) {
  std::vector<TemperatureSample> air{{minutes{0}, 37.5},
                                     {minutes{30}, 37.5},
                                     {minutes{60}, 35.5},
                                     {minutes{180}, 39.0},
                                     {minutes{210}, 39.0}};
  const auto band = band_hours(air, 36.5, 38.5);
  ASSERT_TRUE(band) << band.why();
  EXPECT_NEAR(band->known_hours, 1.5, 1e-12);
  EXPECT_NEAR(band->unknown_hours, 2, 1e-12);
  EXPECT_NEAR(band->below.hours, 0.25, 1e-12);
  EXPECT_NEAR(band->below.degree_hours, 0.125, 1e-12);
  EXPECT_NEAR(band->above.hours, 0.5, 1e-12);
  EXPECT_NEAR(band->above.degree_hours, 0.25, 1e-12);
  EXPECT_EQ(*band->coldest_c, 35.5);
  EXPECT_EQ(*band->hottest_c, 39.0);
  EXPECT_NEAR(*band->mean_c, (37.5 + 36.5 + 39.0) / 3, 1e-12);
}

TEST(EggHeat, EmptyAndFaultyRecordings) {
  const auto none = band_hours({}, 36, 38);
  ASSERT_TRUE(none);
  EXPECT_FALSE(none->mean_c);
  EXPECT_FALSE(none->coldest_c);
  EXPECT_EQ(band_hours({}, 38, 36).why(), "band: 38 to 36 °C found, low below high expected");
  EXPECT_EQ(heat_dose({{hours{1}, 37}, {hours{0}, 37}}, Beyond::above, 37).why(),
            "sample 2: earlier than the one before it; rising times expected");
  EXPECT_EQ(heat_dose({{hours{1}, NAN}}, Beyond::above, 37).why(),
            "sample 1: not a number °C found, -60 to 120 °C expected");
  EXPECT_EQ(egg_temperatures({}, 0).why(), "time constant: 0 min found, 1 to 1000 min expected");
  EXPECT_TRUE(egg_temperatures({}, 52)->empty());
}

}  // namespace
}  // namespace clutchward
