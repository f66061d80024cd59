// Numbers that RFC 8259 allows and the JSON parser cannot hold: integers past 64 bits and sizes
// past a double. One of them in a serial number must not hide the temperature beside it.
#pragma once

#include <string>
#include <string_view>

namespace clutchward {

// Writes `json` with integers of 19 digits and more as floating point and numbers past a double as
// the largest double, either sign. What is no number by RFC 8259 is left as it stands.
void narrow_numbers(std::string_view json, std::string& out);

}  // namespace clutchward
