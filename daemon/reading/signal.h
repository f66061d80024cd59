// On/off quantities by name: door, fan, water, button and any that a rule of kind signal names.
// Words only; whether a state is an alarm is decided elsewhere.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>

#include "base/time.h"

namespace clutchward {

// The names that need no rule to be known.
inline constexpr std::array<std::string_view, 4> kSignalNames = {"door", "fan", "water", "button"};

// What is known of an on/off quantity by its name: the state that is wrong, and how long it may
// stand in it (common practice, no published source). An unknown name is wrong when on, after no
// delay.
struct SignalUsage {
  bool bad = true;
  Span delay{0};
};
SignalUsage usage_of_signal(const std::string& name);

// on, open, running ... : true; off, closed, empty ... : false; none for any other word.
std::optional<bool> signal_word(std::string_view word);

}  // namespace clutchward
