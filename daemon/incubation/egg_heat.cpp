// First-order lag and heat doses over samples at irregular times.
#include "incubation/egg_heat.h"

#include <algorithm>
#include <cmath>

#include "base/check.h"
#include "incubation/figure.h"

namespace clutchward {
namespace {

// What a probe in a cabinet can say at all (design: plausible range), with room for Fahrenheit
// slips.
constexpr double kLowestC = -60;
constexpr double kHighestC = 120;
constexpr double kSettledTimeConstants = 3;

double minutes_of(Span span) { return std::chrono::duration<double, std::ratio<60>>(span).count(); }
double hours_of(Span span) { return minutes_of(span) / 60; }

std::optional<Refusal> samples_fault(const std::vector<TemperatureSample>& samples) {
  for (std::size_t i = 0; i < samples.size(); ++i) {
    const std::string where = "sample " + std::to_string(i + 1);
    if (auto bad = out_of_range(where, samples[i].celsius, kLowestC, kHighestC, "°C")) return bad;
    if (i > 0 && samples[i].at < samples[i - 1].at)
      return Refusal{where + ": earlier than the one before it; rising times expected"};
  }
  return std::nullopt;
}

// Hours and area of a straight line from `a` to `b` (both relative to the level, positive beyond).
HeatDose line_dose(double a, double b, double hours) {
  if (a <= 0 && b <= 0) return {};
  if (a >= 0 && b >= 0) return {hours, (a + b) / 2 * hours};
  const double top = std::max(a, b);
  const double share = top / (top - std::min(a, b));
  return {share * hours, top / 2 * share * hours};
}

}  // namespace

Result<double> egg_time_constant_min(double egg_mass_g) {
  if (auto bad = out_of_range("egg mass", egg_mass_g, 1, 5000, "g")) return *bad;
  return kHenEggTimeConstantMin * std::pow(egg_mass_g / kHenEggMassG, 0.4);
}

double egg_after_steady_air(double egg_c, double air_c, double minutes, double time_constant_min) {
  CHECK(time_constant_min > 0 && minutes >= 0);
  return egg_c + (air_c - egg_c) * -std::expm1(-minutes / time_constant_min);
}

double egg_after_changing_air(double egg_c, double from_c, double to_c, double minutes,
                              double time_constant_min) {
  CHECK(time_constant_min > 0 && minutes >= 0);
  if (minutes == 0) return egg_c;
  // Behind a ramp the egg trails by slope x time constant once the start is forgotten.
  const double trail = (to_c - from_c) / minutes * time_constant_min;
  return to_c - trail + (egg_c - from_c + trail) * std::exp(-minutes / time_constant_min);
}

Result<std::vector<EggTemperature>> egg_temperatures(const std::vector<TemperatureSample>& air,
                                                     double time_constant_min,
                                                     std::optional<double> start_c,
                                                     Span longest_gap) {
  if (auto bad = out_of_range("time constant", time_constant_min, 1, 1000, "min")) return *bad;
  if (auto bad = samples_fault(air)) return *bad;
  if (start_c)
    if (auto bad = out_of_range("egg at the start", *start_c, kLowestC, kHighestC, "°C"))
      return *bad;
  std::vector<EggTemperature> eggs;
  eggs.reserve(air.size());
  std::optional<Span> unknown_since;
  for (std::size_t i = 0; i < air.size(); ++i) {
    EggTemperature egg{air[i].at, air[i].celsius, false};
    if (i == 0) {
      if (start_c) egg.celsius = *start_c;
      if (!start_c) unknown_since = air[i].at;
    } else if (air[i].at - air[i - 1].at > longest_gap) {
      unknown_since = air[i].at;
    } else {
      egg.celsius =
          egg_after_changing_air(eggs.back().celsius, air[i - 1].celsius, air[i].celsius,
                                 minutes_of(air[i].at - air[i - 1].at), time_constant_min);
    }
    egg.settled = !unknown_since || minutes_of(air[i].at - *unknown_since) >=
                                        kSettledTimeConstants * time_constant_min;
    eggs.push_back(egg);
  }
  return eggs;
}

Result<HeatDose> heat_dose(const std::vector<TemperatureSample>& samples, Beyond side,
                           double level_c, Span longest_gap) {
  if (auto bad = out_of_range("level", level_c, kLowestC, kHighestC, "°C")) return *bad;
  if (auto bad = samples_fault(samples)) return *bad;
  const double sign = side == Beyond::above ? 1 : -1;
  HeatDose dose;
  for (std::size_t i = 1; i < samples.size(); ++i) {
    const Span step = samples[i].at - samples[i - 1].at;
    if (step > longest_gap) continue;
    const HeatDose part = line_dose(sign * (samples[i - 1].celsius - level_c),
                                    sign * (samples[i].celsius - level_c), hours_of(step));
    dose.hours += part.hours;
    dose.degree_hours += part.degree_hours;
  }
  return dose;
}

Result<BandHours> band_hours(const std::vector<TemperatureSample>& samples, double low_c,
                             double high_c, Span longest_gap) {
  if (!(low_c < high_c))
    return Refusal{"band: " + figure(low_c) + " to " + figure(high_c) +
                   " °C found, low below high expected"};
  const auto above = heat_dose(samples, Beyond::above, high_c, longest_gap);
  if (!above) return Refusal{above.why()};
  const auto below = heat_dose(samples, Beyond::below, low_c, longest_gap);
  if (!below) return Refusal{below.why()};
  BandHours band;
  band.above = *above;
  band.below = *below;
  double area = 0;
  for (std::size_t i = 0; i < samples.size(); ++i) {
    const double value = samples[i].celsius;
    band.coldest_c = std::min(band.coldest_c.value_or(value), value);
    band.hottest_c = std::max(band.hottest_c.value_or(value), value);
    if (i == 0) continue;
    const Span step = samples[i].at - samples[i - 1].at;
    (step > longest_gap ? band.unknown_hours : band.known_hours) += hours_of(step);
    if (step <= longest_gap) area += (samples[i - 1].celsius + value) / 2 * hours_of(step);
  }
  if (band.known_hours > 0) band.mean_c = area / band.known_hours;
  return band;
}

}  // namespace clutchward
