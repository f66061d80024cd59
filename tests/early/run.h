// The engine beside a simulated cabinet, at the speed of the machine: what a rule would have said,
// and when. Everything is in simulated time.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "cabinet-sim/cabinet.h"
#include "engine/engine.h"

namespace clutchward::early {

inline constexpr Wall kStart{Span{1772352000000}};  // 2026-03-01T08:00:00Z
inline constexpr Milli kTarget = 37'500;

// The shipped example's rules, one bench hen's batch set three days before in one cabinet "c".
Settings shipped(const std::string& root);

// What varies from one seed to the next: probes' errors, the room, the day, how finely they speak.
sim::CabinetSettings cabinet_of(std::uint64_t seed);

struct Told {
  Span at{};
  AlarmEvent event;
};

struct Run {
  std::vector<Told> told;
  // When the air itself first passed a level, by the model.
  std::optional<Span> past(Milli level, bool below) const;
  std::vector<std::pair<Span, double>> air;  // C, each minute

  std::optional<Span> first(const std::vector<std::string>& alarms, Span from) const;
};

Run play(const Settings& settings, const sim::CabinetSettings& cabinet,
         const std::vector<sim::Fault>& faults, Span length);

}  // namespace clutchward::early
