// Checks a figure that came from outside before a formula sees it, and writes figures for people.
// It refuses nothing by itself: it hands back the sentence that the caller refuses with.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "base/result.h"

namespace clutchward {

// "37.5", "-0.76", "1013.25": at most six significant digits, no exponent for what a cabinet can
// show. "not a number" and "infinite" for what is not finite.
std::string figure(double value);

// "53.5", "29.0": `decimals` digits after the point (0 to 6), never "-0.0".
std::string figure(double value, int decimals);

// The refusal of a value that is not finite or outside lowest..highest, naming what it is, what was
// found and what was expected ("altitude: 9000 m found, -430 to 5000 m expected"); none where the
// value is good. `unit` is written after each figure, with a blank before it unless empty.
std::optional<Refusal> out_of_range(std::string_view what, double value, double lowest,
                                    double highest, std::string_view unit);

}  // namespace clutchward
