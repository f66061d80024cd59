// How a figure is written and how a bad one is named.
#include "incubation/figure.h"

#include <cmath>
#include <cstdio>

namespace clutchward {

std::string figure(double value) {
  if (std::isnan(value)) return "not a number";
  if (std::isinf(value)) return value > 0 ? "infinite" : "minus infinite";
  char text[64];
  std::snprintf(text, sizeof text, "%.6g", value == 0 ? 0.0 : value);
  return text;
}

std::string figure(double value, int decimals) {
  if (!std::isfinite(value)) return figure(value);
  char text[400];  // the largest double has 309 digits before the point
  std::snprintf(text, sizeof text, "%.*f", decimals, value);
  std::string result = text;
  if (result.find_first_not_of("-0.") == std::string::npos && result.front() == '-')
    result.erase(0, 1);
  return result;
}

std::optional<Refusal> out_of_range(std::string_view what, double value, double lowest,
                                    double highest, std::string_view unit) {
  if (std::isfinite(value) && value >= lowest && value <= highest) return std::nullopt;
  const std::string tail = unit.empty() ? "" : " " + std::string(unit);
  return Refusal{std::string(what) + ": " + figure(value) + tail + " found, " + figure(lowest) +
                 " to " + figure(highest) + tail + " expected"};
}

}  // namespace clutchward
