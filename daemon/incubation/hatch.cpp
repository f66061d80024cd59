// Hatch percentages and shifts of the hatch.
#include "incubation/hatch.h"

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>

#include "incubation/figure.h"

namespace clutchward {
namespace {

constexpr double kShortestPeriodDays = 10;
constexpr double kLongestPeriodDays = 90;
constexpr double kPeriodShareADegree = 0.045;
constexpr double kLargestDeviationC = 1.5;
// Lateness of stored eggs in the trial: at 6 h, 3 d and 7 d against fresh ones.
constexpr double kTrialFirstDays = 0.25;
constexpr double kTrialFirstHours = 6;
constexpr double kTrialMiddleDays = 3;
constexpr double kTrialLastDays = 7;
constexpr double kTrialLastHours = 12;

std::optional<Refusal> period_fault(double days) {
  return out_of_range("incubation", days, kShortestPeriodDays, kLongestPeriodDays, "days");
}

double percent(int part, int whole) { return 100.0 * part / whole; }

double trial_lateness_hours(double storage_days) {
  if (storage_days <= kTrialFirstDays) return kTrialFirstHours * storage_days / kTrialFirstDays;
  if (storage_days <= kTrialMiddleDays) return kTrialFirstHours;
  const double share = (std::min(storage_days, kTrialLastDays) - kTrialMiddleDays) /
                       (kTrialLastDays - kTrialMiddleDays);
  return kTrialFirstHours + share * (kTrialLastHours - kTrialFirstHours);
}

}  // namespace

Result<HatchFigures> hatch_figures(const HatchCounts& counts) {
  if (counts.set < 1)
    return Refusal{"eggs set: " + std::to_string(counts.set) + " found, 1 or more expected"};
  const std::pair<const char*, int> classes[] = {
      {"infertile", counts.infertile},     {"dead early", counts.dead_early},
      {"dead middle", counts.dead_middle}, {"dead late", counts.dead_late},
      {"pipped dead", counts.pipped_dead}, {"culled", counts.culled},
      {"hatched", counts.hatched}};
  std::int64_t told = 0;  // seven counts of a stranger's may overflow an int
  for (const auto& [name, count] : classes) {
    if (count < 0)
      return Refusal{std::string(name) + ": " + std::to_string(count) +
                     " found, 0 or more expected"};
    told += count;
  }
  if (told > counts.set)
    return Refusal{"more eggs accounted for than set: " + std::to_string(told) + " found, " +
                   std::to_string(counts.set) + " at most expected"};

  HatchFigures figures;
  figures.fertile = static_cast<int>(told) - counts.infertile;
  figures.unaccounted = counts.set - static_cast<int>(told);
  figures.fertility_percent = percent(figures.fertile, counts.set);
  figures.hatch_of_set_percent = percent(counts.hatched, counts.set);
  if (figures.fertile > 0) {
    OfFertile of;
    of.hatched_percent = percent(counts.hatched, figures.fertile);
    of.dead_early_percent = percent(counts.dead_early, figures.fertile);
    of.dead_middle_percent = percent(counts.dead_middle, figures.fertile);
    of.dead_late_percent = percent(counts.dead_late, figures.fertile);
    of.pipped_dead_percent = percent(counts.pipped_dead, figures.fertile);
    of.culled_percent = percent(counts.culled, figures.fertile);
    figures.of_fertile = of;
  }
  return figures;
}

Result<double> hatch_of_set_percent(double fertility_percent, double hatch_of_fertile_percent) {
  if (auto bad = out_of_range("fertility", fertility_percent, 0, 100, "%")) return *bad;
  if (auto bad = out_of_range("hatch of fertile", hatch_of_fertile_percent, 0, 100, "%"))
    return *bad;
  return fertility_percent * hatch_of_fertile_percent / 100;
}

Result<DeathClass> death_class(double day, double incubation_days) {
  if (auto bad = period_fault(incubation_days)) return *bad;
  if (auto bad = out_of_range("day of death", day, 0, incubation_days + 7, "days")) return *bad;
  // Times three, so that day 7 of 21 is not lost to rounding.
  if (day * 3 <= incubation_days) return DeathClass::early;
  if (day * 3 <= incubation_days * 2) return DeathClass::middle;
  return DeathClass::late;
}

Result<HatchShift> storage_shift(double storage_days) {
  if (auto bad = out_of_range("storage", storage_days, 0, 60, "days")) return *bad;
  const double rule = std::max(0.0, storage_days - kTrialLastDays);
  return HatchShift{rule, 0, rule + trial_lateness_hours(storage_days)};
}

Result<HatchShift> temperature_shift(double incubation_days, double mean_deviation_c) {
  if (auto bad = period_fault(incubation_days)) return *bad;
  if (auto bad = out_of_range("mean deviation", mean_deviation_c, -kLargestDeviationC,
                              kLargestDeviationC, "°C"))
    return *bad;
  const double hours = -kPeriodShareADegree * incubation_days * 24 * mean_deviation_c;
  const auto [earliest, latest] = std::minmax({hours / 2, hours * 2});
  return HatchShift{hours, earliest, latest};
}

Result<HatchShift> outage_shift(double hours_below_35_c) {
  if (auto bad = out_of_range("time below 35 °C", hours_below_35_c, 0, 720, "h")) return *bad;
  return HatchShift{hours_below_35_c / 2, 0, hours_below_35_c};
}

Result<int> eighty_percent_day(double incubation_days) {
  if (auto bad = period_fault(incubation_days)) return *bad;
  // A hair less, so that 80 % of 35 days is 28 and not 29.
  return static_cast<int>(std::ceil(incubation_days * 0.8 - 1e-9));
}

}  // namespace clutchward
