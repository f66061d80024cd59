// What on/off quantities mean by their names, and the words that they are told in.
#include "reading/signal.h"

#include <algorithm>

namespace clutchward {

SignalUsage usage_of_signal(const std::string& name) {
  using namespace std::chrono_literals;
  if (name == "door") return {true, 10min};    // open: longer than a look and a turn by hand take
  if (name == "fan") return {false, 1min};     // stands still: air layers within minutes
  if (name == "water") return {false, 30min};  // empty: humidity falls slowly
  return {};
}

std::optional<bool> signal_word(std::string_view word) {
  constexpr std::array<std::string_view, 9> kOn = {"on",      "1",       "true", "yes", "open",
                                                   "running", "pressed", "full", "ok"};
  constexpr std::array<std::string_view, 11> kOff = {
      "off", "0", "false", "no", "closed", "shut", "stopped", "released", "empty", "low", "dry"};
  std::string lower(word);
  for (char& letter : lower)
    if (letter >= 'A' && letter <= 'Z') letter = static_cast<char>(letter | 0x20);
  if (std::find(kOn.begin(), kOn.end(), lower) != kOn.end()) return true;
  if (std::find(kOff.begin(), kOff.end(), lower) != kOff.end()) return false;
  return std::nullopt;
}

}  // namespace clutchward
