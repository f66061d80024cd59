// The faults that can be ordered, and how they are written. Parses text; breaks nothing itself.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "base/result.h"
#include "base/time.h"

namespace clutchward::sim {

enum class FaultKind {
  heater_on,
  heater_dead,
  creep,
  fan,
  door,
  probe_dead,
  probe_frozen,
  turner,
  power,
  radio
};

struct FaultWord {
  FaultKind kind;
  std::string_view word;
  std::string_view meaning;    // one line for --list-faults
  std::string_view size;       // what SIZE means, "" where it means nothing
  double usual = 0;            // the size where none is given
  double least = 0, most = 0;  // of a size
};
// Every fault there is, in the order in which they are listed.
std::span<const FaultWord> fault_words();

inline constexpr std::string_view kProbes[] = {"top", "middle", "bottom"};

struct Fault {
  std::string cabinet{};
  FaultKind kind = FaultKind::heater_on;
  Span from{};                  // since the simulation began
  std::optional<Span> until{};  // none: for good
  double size = 0;
  std::string probe{};  // of the two probe faults
  bool operator==(const Fault&) const = default;
};

// Reads CABINET:FAULT@TIME[+DURATION][=SIZE], times as systemd writes spans; the size may also
// stand behind the fault's word ("setter-a:probe-dead=top@10min"). Where `now` is given, "@TIME"
// may be left out and means now. The refusal names what was found and what was expected.
Result<Fault> parse_fault(std::string_view text, std::optional<Span> now = {});

}  // namespace clutchward::sim
