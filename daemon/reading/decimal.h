// A decimal number as it was written, exact to ten decimals, and its way into thousandths of the
// engine's units. What both decoders share; it refuses to know payloads.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>

#include "reading/decode.h"

namespace clutchward {

// Ten-billionths of the unit that was written. Digits past the tenth decimal leave a 1 in the last
// place, so that a Fahrenheit value beside a half is still rounded to the right side.
using Fine = std::int64_t;
inline constexpr Fine kFinePerUnit = 10'000'000'000;
// Sizes from here on are no reading in any unit; `Fine` holds them with room for the conversion.
inline constexpr std::int64_t kHugeUnits = 10'000'000;

enum class NumberFault : std::uint8_t {
  none,
  not_a_number,
  huge,      // a number, but kHugeUnits or more
  infinite,  // past what a double holds
};

// Takes a decimal number ("37.5", "-.5", "+3.75e1") off the front of `text`. A bare "37." is none:
// it is a number cut off. `text` is left behind the number where the fault is none, huge or
// infinite.
NumberFault take_decimal(std::string_view& text, Fine& value);

// The shortest decimal that reads back as `value`, which is what was written in any text of up to
// 15 digits. The value must be finite and below kHugeUnits.
Fine fine_of(double value);

// In the engine's unit, rounded half away from zero, and held against the plausible range.
// `fahrenheit` only for temperatures: (F - 32) x 5/9, the definition, exactly in integers.
Decoded to_reading(Fine value, Quantity quantity, bool fahrenheit);

// on off 1 0 true false yes no, in any case and nothing around them.
Decoded decode_switch(std::string_view word);

// The same and the words that doors, fans and water have (reading/signal.h).
Decoded decode_signal(std::string_view word);

// An event (1000), or Rejection::empty where the word says that nothing has turned.
Decoded decode_turn(std::string_view word);

// The side on which the eggs lie: left or right, in any case; none where the word is neither.
std::optional<Decoded> decode_side(std::string_view word);

inline bool is_temperature(Quantity quantity) { return is_degrees(quantity); }

}  // namespace clutchward
