// What the keeper's command prints, word for word.
#include "incubation/humidity_report.h"

#include <gtest/gtest.h>

namespace clutchward {
namespace {

TEST(HumidityReport, TextInCelsius) {
  const auto text = humidity_text({.dry = 37.5, .wet = 29});
  ASSERT_TRUE(text) << text.why();
  EXPECT_EQ(*text,
            "Relative humidity  53.5 %\n"
            "Wet bulb           29.0 °C, thermodynamic\n"
            "Dew point          26.5 °C\n"
            "Vapour pressure    34.6 hPa\n"
            "Air pressure       1013.2 hPa, standard at 0 m\n");
}

TEST(HumidityReport, TextInFahrenheitWithACoefficient) {
  const auto text = humidity_text({.dry = 99.5,
                                   .wet = 86,
                                   .altitude_m = 300,
                                   .unit = TemperatureUnit::fahrenheit,
                                   .coefficient_per_k = 6.62e-4});
  ASSERT_TRUE(text) << text.why();
  EXPECT_EQ(*text,
            "Relative humidity  58.3 %\n"
            "Wet bulb           86.0 °F (30.0 °C), psychrometer, 0.000662 per kelvin\n"
            "Dew point          82.2 °F (27.9 °C)\n"
            "Vapour pressure    37.6 hPa\n"
            "Air pressure       977.7 hPa, standard at 300 m\n");
}

TEST(HumidityReport, Json) {
  const auto json = humidity_json({.dry = 37.5, .relative_humidity = 0});
  ASSERT_TRUE(json) << json.why();
  EXPECT_NE(json->find("\"dew_point\":null"), std::string::npos) << *json;
  const auto wet = humidity_json({.dry = 37.5, .wet = 29});
  ASSERT_TRUE(wet);
  EXPECT_EQ(*wet,
            "{\"relative_humidity\":53.5416,\"dry_bulb\":37.5000,\"wet_bulb\":29.0000,"
            "\"dew_point\":26.4596,\"vapour_pressure\":34.5566,\"pressure\":1013.2500,"
            "\"unit\":\"C\"}");
}

TEST(HumidityReport, RefusesAQuestionWithoutOneWayIn) {
  EXPECT_EQ(humidity_text({.dry = 37.5}).why(),
            "one of wet bulb, relative humidity and dew point is expected beside the dry bulb, 0 "
            "found");
  EXPECT_EQ(humidity_json({.dry = 37.5, .wet = 29, .relative_humidity = 50}).why(),
            "one of wet bulb, relative humidity and dew point is expected beside the dry bulb, 2 "
            "found");
  EXPECT_EQ(humidity_json({.dry = 37.5, .wet = 29, .altitude_m = 9000}).why(),
            "altitude: 9000 m found, -430 to 5000 m expected");
}

}  // namespace
}  // namespace clutchward
