// After a power cut or a failed heater: how cold the eggs got and for how long, what eggs of that
// age stood in published trials, by how much the hatch may be late, what to do now and when to
// candle. It predicts no loss: no trial covers a given clutch, and nearly all were on hens' eggs.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/result.h"
#include "incubation/egg_heat.h"
#include "incubation/hatch.h"

namespace clutchward {

// Levels at which time is counted, C. Below about 35 growth slows (the bound of outage_shift);
// 32.2 (90 F): "some survive below 90 F for up to 18 h"; 21.1 (70 F): "have lived through 70 F for
// a short time" (both Penn State Extension, "In case of power outage").
inline constexpr double kSlowedC = 35.0;
inline constexpr double kChilledC = 32.2;
inline constexpr double kColdC = 21.1;

struct ColdSpell {
  double day = 0;  // of the batch, when it began
  std::optional<double> coldest_air_c;
  std::optional<double> coldest_egg_c;  // of the whole egg, estimated by one time constant
  double egg_hours_below_slowed = 0;
  double egg_hours_below_chilled = 0;
  double egg_hours_below_cold = 0;
  double unknown_hours = 0;  // without a reading: could have been colder
  HatchShift shift;          // 0 to the hours below 35 C
  DeathClass third = DeathClass::early;
  double candle_from_day = 0;  // 4 to 6 days after its end (Penn State Extension)
  double candle_to_day = 0;
  bool operator==(const ColdSpell&) const = default;
};

// One published trial of cold on eggs already set, and what was found.
struct ColdTrial {
  double day;
  double air_c;
  double hours;
  const char* outcome;
  const char* source;
};
// All on hens' eggs at day 17. What is not here was not seen.
const std::vector<ColdTrial>& cold_trials();

// From the air over the spell (times rising; the first sample is its beginning, taken as the eggs'
// temperature too, unless `egg_c` says otherwise). `day`: age of the batch at the first sample.
// Refused: fewer than two samples, a faulty one, a period outside 10..90 days.
Result<ColdSpell> cold_spell(const std::vector<TemperatureSample>& air, double day,
                             double incubation_days, double time_constant_min,
                             std::optional<double> egg_c = std::nullopt);

enum class Machine : std::uint8_t { forced_air, still_air };

// Sentences for a person: first what happened, then what trials say (with what they were on), then
// what to do and what never to do.
std::vector<std::string> cold_spell_advice(const ColdSpell& spell, Machine machine);

}  // namespace clutchward
