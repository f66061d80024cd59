// What `clutchward humidity` prints: lines for people, or one JSON object for programs. It takes
// parsed figures and reads no arguments.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "base/result.h"

namespace clutchward {

enum class TemperatureUnit : std::uint8_t { celsius, fahrenheit };

// Temperatures in `unit`; exactly one of the three ways in besides the dry bulb.
struct HumidityQuestion {
  double dry = 0;
  std::optional<double> wet{};
  std::optional<double> relative_humidity{};  // percent
  std::optional<double> dew_point{};
  double altitude_m = 0;
  TemperatureUnit unit = TemperatureUnit::celsius;
  std::optional<double> coefficient_per_k{};  // none: thermodynamic wet bulb
  bool operator==(const HumidityQuestion&) const = default;
};

double to_celsius(double value, TemperatureUnit unit);
double from_celsius(double celsius, TemperatureUnit unit);

// Five lines, newline after each; both units where Fahrenheit was asked. Refusals as in
// humidity.h (temperatures named in Celsius), or where not exactly one way in was given.
Result<std::string> humidity_text(const HumidityQuestion& question);

// One object on one line, without newline. Keys: relative_humidity (%), dry_bulb, wet_bulb,
// dew_point (null where none) in `unit` ("C" or "F"), vapour_pressure and pressure (hPa). Four
// decimals.
Result<std::string> humidity_json(const HumidityQuestion& question);

}  // namespace clutchward
