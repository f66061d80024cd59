// A species' (or a keeper's own) schedule as data: stages by day, targets, turning, cooling and the
// rules that go with them. Files in config/profiles/ become these; no species needs code.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "base/time.h"
#include "rules/rule.h"

namespace clutchward {

// A daily airing: the lid is opened at a local time of day for a while.
struct CoolingWindow {
  Span at{0};  // local time of day
  Span lasts{0};
  // By hand, at no fixed hour: it must have been done by this local time of day. `at` is then
  // unused.
  std::optional<Span> due_by{};
  bool operator==(const CoolingWindow&) const = default;
};

// What a stage begins by: its day, or the eggs being moved (at the latest 24 h after its day).
enum class Begins : std::uint8_t { by_clock, moved };

// Wanted relative humidity, thousandths of a percent.
struct HumidityBand {
  Milli from = 0;
  Milli to = 0;
  bool operator==(const HumidityBand&) const = default;
};

struct Stage {
  std::string name;
  Span from{0};  // from_day x 24 h after set_at
  Begins begins = Begins::by_clock;
  Milli target = 0;                   // C, forced air
  std::optional<Milli> target_still;  // C, still air, at the top of the eggs
  std::optional<HumidityBand> humidity;
  std::optional<Span> turn_every;  // none: off, or at the hours of turn_at
  std::vector<Span> turn_at;       // local times of day at which the eggs are turned by hand
  bool turn_any = false;           // `any`: turns are counted, none is asked for
  std::vector<CoolingWindow> cooling;
  std::optional<Span> recovery;
  RulePatches rules;
  bool operator==(const Stage&) const = default;
};

// Days after setting, both ends included.
struct DayWindow {
  double from = 0;
  double to = 0;
  bool operator==(const DayWindow&) const = default;
};

// Wanted loss of egg mass, percent of the mass at setting, by a day.
struct MassLossWanted {
  double by_day = 0;
  double from = 0;
  double to = 0;
  bool operator==(const MassLossWanted&) const = default;
};

struct Profile {
  std::string id;
  std::string name;
  std::string based_on;            // the profile whose keys hold where this one gives none
  double days = 0;                 // planned: the day most chicks are expected
  std::optional<DayWindow> hatch;  // earliest and latest day on which chicks come
  std::optional<DayWindow> pip;
  std::vector<double> candling;        // days, rising
  std::optional<double> transfer_day;  // setter to hatcher
  std::optional<MassLossWanted> mass_loss;
  std::vector<Stage> stages;  // at least one, the first from day 0, `from` rising
  std::optional<Span> recovery;
  RulePatches rules;
  // In a still-air machine these lie over the stage's rules: heat stands higher at the egg tops and
  // has less room above it.
  RulePatches still_rules;
  bool operator==(const Profile&) const = default;
};

}  // namespace clutchward
