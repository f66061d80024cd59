// What a cabinet has for the rules that speak up early, for on/off signals and for the health of
// its probes: made when the first of them is asked for, null until then. Internal to this room.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "engine/past.h"

namespace clutchward {

struct World;
struct CabinetWatch;

// One on/off quantity of one cabinet.
struct SignalState {
  std::string name;
  bool on = false;
  Steady since{};
};

enum class ProbeFault : std::uint8_t { none, frozen, silent, implausible, jumping };

// What is known of one probe beyond its value. Kept beside CabinetWatch::probes, by index.
struct ProbeHealth {
  Steady same_since{};  // its value has not changed since
  Milli least = 0;      // of it and of its neighbours' mean since then
  Milli most = 0;
  std::uint32_t same = 0;        // readings without a change
  std::uint8_t implausible = 0;  // in a row
  std::uint8_t jumps = 0;
  ProbeFault fault = ProbeFault::none;
  bool heard = false;
  Milli last = 0;
  Steady jumped_at{};
};

// How many readings in a row lay beyond the limit of a rule with `confirm`.
struct Confirming {
  std::string batch;
  std::string rule;
  int count = 0;
};

struct Early {
  std::vector<Track> tracks;
  std::vector<SignalState> signals;
  bool watches_probes = false;  // a rule of kind probe is asked for
  std::vector<ProbeHealth> probes;
  Steady heard_at{};    // the last reading of any air probe
  Steady resumed_at{};  // the first one after they were all silent
  std::vector<Confirming> confirming;

  Track* track(const std::string& batch, const std::string& rule);
  const Track* track(const std::string& batch, const std::string& rule) const;
  SignalState* signal(const std::string& name);
};

// Whether what a probe says (before its offset) is the failure of a common probe and no
// temperature, although it lies inside the plausible range.
bool is_error_value(const World& world, const CabinetWatch& cabinet, std::uint32_t index,
                    Milli said);

}  // namespace clutchward
