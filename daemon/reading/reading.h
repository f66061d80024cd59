// What a probe, a turner or a machine says, once it is understood: always finite, always in the
// engine's units.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string_view>

#include "base/text.h"

namespace clutchward {

enum class Quantity : std::uint8_t {
  temperature,  // thousandths of a degree Celsius
  humidity,     // thousandths of a percent, relative
  wet_bulb,     // thousandths of a degree Celsius
  turn,         // an event: the value is 1000
  cooling,      // 1000 on, 0 off
  power,        // 1000 on (mains there), 0 off (mains lost)
  egg,          // thousandths of a degree Celsius: what the eggs are thought to have, never sent
  signal,       // 1000 on, 0 off: door, fan, water, ... ; which one stands beside it
  dew_point,    // thousandths of a degree Celsius
  turn_run,     // thousandths of a second that the turner ran
  turn_side,    // thousandths of a degree: below 0 left, above 0 right; a word is -45 or 45
};
inline constexpr std::array<std::string_view, 11> kQuantityNames = {
    "temperature", "humidity", "wet_bulb",  "turn",     "cooling",  "power",
    "egg",         "signal",   "dew_point", "turn_run", "turn_side"};

// Probes say it in degrees.
inline bool is_degrees(Quantity quantity) {
  return quantity == Quantity::temperature || quantity == Quantity::wet_bulb ||
         quantity == Quantity::dew_point;
}

std::string_view name_of(Quantity quantity);
std::optional<Quantity> quantity_named(std::string_view name);

enum class Unit : std::uint8_t { own, celsius, fahrenheit };

// What a probe measures: only air makes the cabinet's temperature.
enum class Part : std::uint8_t { air, egg, room, ignore };

struct PlausibleRange {
  Milli low;
  Milli high;  // both inside
};
// Temperature and wet bulb -20...60 C, humidity 0...100 %, a run up to an hour, a side within 180
// degrees: shuts out the 85 C power-on value and
// the -127 C driver error of the common one-wire sensor.
PlausibleRange plausible_range(Quantity quantity);

// Why a payload gave no reading. Each is counted and shown under its name.
enum class Rejection : std::uint8_t {
  empty,           // a zero-length payload, or a turn that says "not turned": no value and no fault
  too_long,        // past limits::kPayloadBytes
  not_a_number,    // text that is no number, or a word where on/off was expected
  not_finite,      // nan, inf, a number past what a double holds
  bad_unit,        // a unit behind the number that this quantity does not have
  broken_json,     // not RFC 8259, truncation and bare nan included
  duplicate_key,   // a key that stands twice in one object
  missing,         // the pointer leads nowhere
  null_value,      // the pointer leads to null
  wrong_type,      // the pointer leads to an object, an array or a word
  implausible,     // outside the plausible range
  unknown_probe,   // a probe past limits::kProbesPerCabinet
  above_dry_bulb,  // a wet bulb or dew point above the temperature beside it
  bad_name,        // a level of the topic that should name a cabinet or a probe cannot
};
inline constexpr std::size_t kRejections = 14;
std::string_view name_of(Rejection rejection);

}  // namespace clutchward
