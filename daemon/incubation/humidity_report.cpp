// Question in, figures out, as text or JSON. Numbers only are written, so nothing needs escaping.
#include "incubation/humidity_report.h"

#include "incubation/figure.h"
#include "incubation/humidity.h"

namespace clutchward {
namespace {

constexpr int kJsonDecimals = 4;

Result<MoistAir> answer(const HumidityQuestion& question) {
  const int ways =
      (question.wet ? 1 : 0) + (question.relative_humidity ? 1 : 0) + (question.dew_point ? 1 : 0);
  if (ways != 1)
    return Refusal{
        "one of wet bulb, relative humidity and dew point is expected beside the dry "
        "bulb, " +
        std::to_string(ways) + " found"};
  const double dry_c = to_celsius(question.dry, question.unit);
  if (question.wet)
    return from_wet_bulb(dry_c, to_celsius(*question.wet, question.unit), question.altitude_m,
                         question.coefficient_per_k);
  if (question.dew_point)
    return from_dew_point(dry_c, to_celsius(*question.dew_point, question.unit),
                          question.altitude_m, question.coefficient_per_k);
  return from_relative_humidity(dry_c, *question.relative_humidity, question.altitude_m,
                                question.coefficient_per_k);
}

std::string temperature_text(double celsius, TemperatureUnit unit) {
  const std::string text = figure(celsius, 1) + " °C";
  if (unit == TemperatureUnit::celsius) return text;
  return figure(from_celsius(celsius, unit), 1) + " °F (" + text + ")";
}

}  // namespace

double to_celsius(double value, TemperatureUnit unit) {
  return unit == TemperatureUnit::celsius ? value : (value - 32) / 1.8;
}

double from_celsius(double celsius, TemperatureUnit unit) {
  return unit == TemperatureUnit::celsius ? celsius : celsius * 1.8 + 32;
}

Result<std::string> humidity_text(const HumidityQuestion& question) {
  const auto air = answer(question);
  if (!air) return Refusal{air.why()};
  const std::string psychrometer =
      question.coefficient_per_k
          ? "psychrometer, " + figure(*question.coefficient_per_k) + " per kelvin"
          : "thermodynamic";
  std::string text;
  text += "Relative humidity  " + figure(air->relative_humidity_percent, 1) + " %\n";
  text += "Wet bulb           " + temperature_text(air->wet_bulb_c, question.unit) + ", " +
          psychrometer + "\n";
  text += "Dew point          " +
          (air->dew_point_c ? temperature_text(*air->dew_point_c, question.unit)
                            : std::string("none: the air is perfectly dry")) +
          "\n";
  text += "Vapour pressure    " + figure(air->vapour_pressure_hpa, 1) + " hPa\n";
  text += "Air pressure       " + figure(air->pressure_hpa, 1) + " hPa, standard at " +
          figure(question.altitude_m) + " m\n";
  return text;
}

Result<std::string> humidity_json(const HumidityQuestion& question) {
  const auto air = answer(question);
  if (!air) return Refusal{air.why()};
  const auto temperature = [&](double celsius) {
    return figure(from_celsius(celsius, question.unit), kJsonDecimals);
  };
  std::string json = "{\"relative_humidity\":";
  json += figure(air->relative_humidity_percent, kJsonDecimals);
  json += ",\"dry_bulb\":" + temperature(air->dry_bulb_c);
  json += ",\"wet_bulb\":" + temperature(air->wet_bulb_c);
  json += ",\"dew_point\":" + (air->dew_point_c ? temperature(*air->dew_point_c) : "null");
  json += ",\"vapour_pressure\":" + figure(air->vapour_pressure_hpa, kJsonDecimals);
  json += ",\"pressure\":" + figure(air->pressure_hpa, kJsonDecimals);
  json += question.unit == TemperatureUnit::celsius ? ",\"unit\":\"C\"}" : ",\"unit\":\"F\"}";
  return json;
}

}  // namespace clutchward
