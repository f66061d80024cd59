// What a batch's curve comes to: how far and how long it was from what was wanted, in one table,
// and how soon people answered what was told. It judges no loss: hours and degree-hours are
// counted.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/result.h"
#include "incubation/egg_heat.h"

namespace clutchward {

// What was wanted from a time on, until the next one.
struct Wanted {
  Span from{0};
  double value = 0;
  bool operator==(const Wanted&) const = default;
};

// A stretch of time, `to` not included.
struct Stretch {
  Span from{0};
  Span to{0};
  bool operator==(const Stretch&) const = default;
};

// Deviations (value less what was wanted then) of `samples`. What lies before the first wanted
// value is left out, and so is what falls below it within one of `pardoned`: an airing is meant to
// be cold.
std::vector<TemperatureSample> deviations(const std::vector<TemperatureSample>& samples,
                                          const std::vector<Wanted>& wanted,
                                          const std::vector<Stretch>& pardoned);

// The steps of the built-in ladder (rules/built_in.cpp), C from the target; the first begins an
// excursion. Not the batch's own rules: so that batches compare.
inline constexpr double kStepsAbove[] = {0.8, 1.4, 2.0};
inline constexpr double kStepsBelow[] = {1.4, 3.0};

struct StepHours {
  Beyond side = Beyond::above;
  double step = 0;
  HeatDose dose;
  bool operator==(const StepHours&) const = default;
};

// Hours and degree-hours beyond every step, above first. Times rising, else refused.
Result<std::vector<StepHours>> step_hours(const std::vector<TemperatureSample>& deviations);

struct Excursion {
  Beyond side = Beyond::above;
  Span from{0};        // the first sample beyond the first step
  Span to{0};          // the last one
  double extreme = 0;  // deviation
  double step = 0;     // the widest one passed
  HeatDose dose;       // beyond the first step
  bool operator==(const Excursion&) const = default;
};

// In order of time. Two of one side with less than `apart` between them are one: a thermostat
// swings.
Result<std::vector<Excursion>> excursions(const std::vector<TemperatureSample>& deviations,
                                          Span apart = std::chrono::minutes{10});

// Stretches below `level_c` that lasted `at_least` and did not begin with the very first sample (a
// machine that warms up): first and last index into `samples`, one sample of margin on both sides.
struct ColdStretch {
  std::size_t first = 0;
  std::size_t last = 0;
  bool operator==(const ColdStretch&) const = default;
};
std::vector<ColdStretch> cold_stretches(const std::vector<TemperatureSample>& samples,
                                        double level_c, Span at_least);

// One thing told of an alarm.
struct AlarmTold {
  Span at{0};
  std::string alarm;  // one of a cabinet, whole: whatever tells it from others
  std::string event;  // the contract's word: "raised", "acknowledged", ...
  std::string by;
};

struct Answered {
  std::string alarm;
  Span raised{0};
  std::optional<Span> returned;
  std::optional<Span> answered;  // acknowledged, snoozed or reset, whichever came first
  std::string by;
  bool operator==(const Answered&) const = default;
};

// One for every "raised", in order of it; an alarm raised again before anybody answered is the
// same.
std::vector<Answered> answers(const std::vector<AlarmTold>& told);

}  // namespace clutchward
