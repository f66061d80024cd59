// Numbers as people read them, for refusals and the log.
#pragma once

#include <string>

#include "cabinet/settings.h"
#include "reading/reading.h"

namespace clutchward {

// "39.8 °C", "103.6 °F", "55.0 %": exact to the thousandth in Celsius, at least one decimal.
std::string quantity_text(Milli value, Quantity quantity, Show show);
// The same for a difference: Fahrenheit scaled only.
std::string difference_text(Milli value, Quantity quantity, Show show);

}  // namespace clutchward
