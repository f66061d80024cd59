// When a clutch hatches and how well it did. Shifts are rough estimates and come with their span;
// figures are printed under their full names, as "hatchability" is used for two of them. It never
// schedules by egg mass (the allometric formula gives a hen 29 days).
#pragma once

#include <cstdint>
#include <optional>

#include "base/result.h"

namespace clutchward {

// What became of the eggs. Culled chicks hatched but are not counted among `hatched`, as break-out
// sheets do (Mauldin, University of Georgia; UC ANR 8134).
struct HatchCounts {
  int set = 0;
  int infertile = 0;
  int dead_early = 0;
  int dead_middle = 0;
  int dead_late = 0;
  int pipped_dead = 0;
  int culled = 0;
  int hatched = 0;
  bool operator==(const HatchCounts&) const = default;
};

// Shares of the fertile eggs; deaths are divided by these, not by the eggs set.
struct OfFertile {
  double hatched_percent = 0;  // hatch of fertile
  double dead_early_percent = 0;
  double dead_middle_percent = 0;
  double dead_late_percent = 0;
  double pipped_dead_percent = 0;
  double culled_percent = 0;
  bool operator==(const OfFertile&) const = default;
};

struct HatchFigures {
  int fertile = 0;                      // known to be: all classes but infertile
  int unaccounted = 0;                  // set, but in no class: broken, stolen, not opened
  double fertility_percent = 0;         // fertile of set
  double hatch_of_set_percent = 0;      // hatched of set
  std::optional<OfFertile> of_fertile;  // none without a fertile egg
  bool operator==(const HatchFigures&) const = default;
};

// Refused: no eggs set, a count below 0, more accounted for than set.
Result<HatchFigures> hatch_figures(const HatchCounts& counts);

// Hatch of set from fertility and hatch of fertile, all in percent (0..100): their product.
Result<double> hatch_of_set_percent(double fertility_percent, double hatch_of_fertile_percent);

enum class DeathClass : std::uint8_t { early, middle, late };

// Class by thirds of the period, as days 1-7, 8-14 and 15-21 of a hen's (Mauldin, day bounds from
// memory; scaled for other species by us). `day` is the age in days, 0 to the period plus a week.
Result<DeathClass> death_class(double day, double incubation_days);

// Hours by which the hatch moves; later is positive. The truth is expected in earliest..latest.
struct HatchShift {
  double hours = 0;
  double earliest_hours = 0;
  double latest_hours = 0;
  bool operator==(const HatchShift&) const = default;
};

// From storage before setting (0..60 days): an hour for each day past 7 (Hatchery Signals). The
// late end adds what the trial in the Turkish J. Vet. Anim. Sci. found on top: 6 h from the first
// hours to 3 days, rising to 12 h at 7 days.
Result<HatchShift> storage_shift(double storage_days);

// From a mean deviation from the target over the whole period (-1.5..1.5 C, beyond any trial seen):
// 4.5 % of the period a degree, warmer earlier (derived from emus at 36.4 and 37.1 C, Szczerbinska
// 2003; for other birds an extrapolation). The span is from half to twice that: the trade's "a day
// for each F" (from memory) is just under twice.
Result<HatchShift> temperature_shift(double incubation_days, double mean_deviation_c);

// From an outage: between none and the time the eggs spent below about 35 C (a bound that needs no
// biology). `hours` is the middle of it. 0..720 h.
Result<HatchShift> outage_shift(double hours_below_35_c);

// The day from which unhatched embryos may feel pain: 80 % of the period, rounded up to a whole day
// (AVMA 2020 as quoted by UW La Crosse and the University of Montana). 10..90 days.
Result<int> eighty_percent_day(double incubation_days);

}  // namespace clutchward
