// Behaviour of the humidity room that no published figure is needed for: round trips, monotony,
// refusals word for word.
#include "incubation/humidity.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

namespace clutchward {
namespace {

constexpr double kNan = std::numeric_limits<double>::quiet_NaN();

TEST(Humidity, WetAsDryIsSaturatedAtEveryAltitude) {
  for (double altitude : {-430.0, 0.0, 300.0, 2000.0, 5000.0})
    for (double dry : {-20.0, 0.0, 5.0, 37.5, 60.0}) {
      const auto air = from_wet_bulb(dry, dry, altitude);
      ASSERT_TRUE(air) << air.why();
      EXPECT_NEAR(air->relative_humidity_percent, 100, 1e-9);
      EXPECT_NEAR(*air->dew_point_c, dry, 1e-9);
    }
}

TEST(Humidity, EveryWayInGivesTheSameAir) {
  for (std::optional<double> coefficient :
       {std::optional<double>(), std::optional(kAspiratedPerK), std::optional(kUnventilatedPerK)})
    for (double altitude : {0.0, 1500.0, 5000.0})
      for (double dry : {15.0, 30.0, 37.5, 60.0})
        for (double percent : {35.0, 55.0, 80.0, 99.0}) {
          const auto air = from_relative_humidity(dry, percent, altitude, coefficient);
          ASSERT_TRUE(air) << air.why();
          const auto wet = from_wet_bulb(dry, air->wet_bulb_c, altitude, coefficient);
          const auto dew = from_dew_point(dry, *air->dew_point_c, altitude, coefficient);
          const auto vapour =
              from_vapour_pressure(dry, air->vapour_pressure_hpa, altitude, coefficient);
          ASSERT_TRUE(wet && dew && vapour);
          EXPECT_NEAR(wet->relative_humidity_percent, percent, 1e-6);
          EXPECT_NEAR(dew->relative_humidity_percent, percent, 1e-6);
          EXPECT_NEAR(vapour->relative_humidity_percent, percent, 1e-6);
          EXPECT_NEAR(dew->wet_bulb_c, air->wet_bulb_c, 1e-6);
        }
}

TEST(Humidity, RisesWithTheWetBulbAndFallsWithTheDry) {
  for (double dry = 25; dry <= 40; dry += 0.5)
    for (double wet = 18; wet + 0.5 <= dry; wet += 0.5) {
      const auto here = from_wet_bulb(dry, wet, 0);
      ASSERT_TRUE(here);
      EXPECT_LT(here->relative_humidity_percent,
                from_wet_bulb(dry, wet + 0.5, 0)->relative_humidity_percent);
      EXPECT_GT(here->relative_humidity_percent,
                from_wet_bulb(dry + 0.5, wet, 0)->relative_humidity_percent);
    }
}

TEST(Humidity, PerfectlyDryAirHasNoDewPoint) {
  const auto air = from_relative_humidity(37.5, 0, 0);
  ASSERT_TRUE(air);
  EXPECT_FALSE(air->dew_point_c);
  EXPECT_EQ(air->vapour_pressure_hpa, 0);
  EXPECT_GT(air->wet_bulb_c, 5);
  EXPECT_NEAR(air->deficit_hpa(), air->saturation_pressure_hpa, 1e-12);
}

TEST(Humidity, AWickThatFreezesStaysInRange) {
  const auto air = from_relative_humidity(-5, 60, 0);
  ASSERT_TRUE(air);
  EXPECT_LT(air->wet_bulb_c, -5);
  EXPECT_GT(air->wet_bulb_c, *air->dew_point_c);
}

TEST(Humidity, RefusesWhatCannotBe) {
  EXPECT_EQ(
      from_wet_bulb(37.5, 38, 0).why(),
      "wet bulb 38 °C is above the dry bulb 37.5 °C: a wet wick cannot be warmer than the air "
      "around it; see which probe is which");
  EXPECT_EQ(from_wet_bulb(40, 10, 0).why(),
            "wet bulb 10 °C is too cold for a dry bulb of 40 °C: perfectly dry air would show "
            "14.6 °C");
  EXPECT_EQ(from_dew_point(30, 31, 0).why(),
            "dew point 31 °C is above the dry bulb 30 °C: air that warm cannot hold so much water");
  EXPECT_EQ(from_relative_humidity(37.5, 100.5, 0).why(),
            "relative humidity: 100.5 % found, 0 to 100 % expected");
  EXPECT_EQ(from_relative_humidity(37.5, -1, 0).why(),
            "relative humidity: -1 % found, 0 to 100 % expected");
  EXPECT_EQ(from_relative_humidity(85, 50, 0).why(),
            "dry bulb: 85 °C found, -20 to 60 °C expected");
  EXPECT_EQ(from_wet_bulb(37.5, 29, 9000).why(), "altitude: 9000 m found, -430 to 5000 m expected");
  EXPECT_EQ(from_wet_bulb(37.5, 29, -431).why(), "altitude: -431 m found, -430 to 5000 m expected");
  EXPECT_EQ(from_wet_bulb(37.5, 29, 0, 0.662).why(),
            "psychrometer coefficient: 0.662 per kelvin found, 0.0005 to 0.0015 per kelvin "
            "expected");
  EXPECT_EQ(from_vapour_pressure(0, 7, 0).why(),
            "vapour pressure: 7 hPa found, 0 to 6.11154 hPa expected");
}

TEST(Humidity, RefusesWhatIsNotFinite) {
  for (double bad : {kNan, HUGE_VAL, -HUGE_VAL}) {
    EXPECT_FALSE(from_wet_bulb(bad, 29, 0));
    EXPECT_FALSE(from_wet_bulb(37.5, bad, 0));
    EXPECT_FALSE(from_wet_bulb(37.5, 29, bad));
    EXPECT_FALSE(from_wet_bulb(37.5, 29, 0, bad));
    EXPECT_FALSE(from_relative_humidity(37.5, bad, 0));
    EXPECT_FALSE(from_dew_point(37.5, bad, 0));
    EXPECT_FALSE(from_vapour_pressure(37.5, bad, 0));
    EXPECT_FALSE(saturation_pressure_hpa(bad));
    EXPECT_FALSE(standard_pressure_hpa(bad));
  }
  EXPECT_EQ(from_wet_bulb(37.5, kNan, 0).why(),
            "wet bulb: not a number °C found, -32.5 to 37.5 °C expected");
}

}  // namespace
}  // namespace clutchward
