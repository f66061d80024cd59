// How warm the eggs themselves were, from the air around them, and how much heat or cold they had.
// One exponential stands for the whole egg: it does not follow the spot under the shell where a
// young embryo lies, which changes about five times as fast, nor the heat an old embryo makes.
#pragma once

#include <optional>
#include <vector>

#include "base/result.h"
#include "base/time.h"

namespace clutchward {

// A hen's egg put back into the machine regains 90 % of the lost heat in nearly 2 h (Am. J.
// Physiol. 1978, 234:R183): 120 min / ln 10. Renema et al. 2006 found about 20 min in moving air,
// so this is a setting; the slower one is the default, as it holds the low alarm's text to the
// core.
inline constexpr double kHenEggTimeConstantMin = 52.0;
inline constexpr double kHenEggMassG = 60.0;
// Past this without a reading the air is unknown: six missed reports of five minutes.
inline constexpr Span kLongestGap = std::chrono::minutes{30};

// Air (or egg) temperature at a time since any fixed instant.
struct TemperatureSample {
  Span at{0};
  double celsius = 0;
  bool operator==(const TemperatureSample&) const = default;
};

struct EggTemperature {
  Span at{0};
  double celsius = 0;
  // False until three time constants after the start or a gap (95 % of what was not known is
  // forgotten).
  bool settled = false;
  bool operator==(const EggTemperature&) const = default;
};

// Time constant in minutes for an egg of that mass (1..5000 g): 52 (W / 60)^0.4, derived for
// natural convection, not measured. A goose's egg of 160 g: 77 min.
Result<double> egg_time_constant_min(double egg_mass_g);

// Egg temperature (C) after `minutes` in air that stands at `air_c`: exact for any step, so a gap
// cannot make it swing. Time constant more than 0.
double egg_after_steady_air(double egg_c, double air_c, double minutes, double time_constant_min);

// The same with the air going from `from_c` to `to_c` in a straight line.
double egg_after_changing_air(double egg_c, double from_c, double to_c, double minutes,
                              double time_constant_min);

// The egg's temperature at each sample of the air (times rising, else refused; time
// constant 1..1000 min). Air goes in straight lines between samples; the egg starts as warm as the
// first sample or as `start_c`. After a gap longer than `longest_gap` it starts anew from the air.
Result<std::vector<EggTemperature>> egg_temperatures(const std::vector<TemperatureSample>& air,
                                                     double time_constant_min,
                                                     std::optional<double> start_c = std::nullopt,
                                                     Span longest_gap = kLongestGap);

enum class Beyond : std::uint8_t { above, below };

struct HeatDose {
  double hours = 0;         // beyond the level
  double degree_hours = 0;  // area between the curve and the level, C h
  bool operator==(const HeatDose&) const = default;
};

// Time and area beyond a level. Straight lines between samples, the crossing found exactly;
// stretches longer than `longest_gap` count as unknown, not as fine. Times rising, values finite.
Result<HeatDose> heat_dose(const std::vector<TemperatureSample>& samples, Beyond side,
                           double level_c, Span longest_gap = kLongestGap);

struct BandHours {
  HeatDose above;
  HeatDose below;
  double known_hours = 0;
  double unknown_hours = 0;
  std::optional<double> coldest_c;  // none without samples
  std::optional<double> hottest_c;
  std::optional<double> mean_c;  // over the known time; none without any
  bool operator==(const BandHours&) const = default;
};

// The same for a band, low below high, with the extremes and the mean (trapezoid over time).
Result<BandHours> band_hours(const std::vector<TemperatureSample>& samples, double low_c,
                             double high_c, Span longest_gap = kLongestGap);

}  // namespace clutchward
