// The psychrometric formulas and their inverses. Inverses are found by halving an interval: sixty
// steps are cheap, and no step can run away as Newton's can where a wick freezes.
#include "incubation/humidity.h"

#include <algorithm>
#include <cmath>
#include <string>

#include "incubation/figure.h"

namespace clutchward {
namespace {

constexpr double kZeroCelsiusK = 273.15;
// Below the triple point the stable phase is ice.
constexpr double kTriplePointC = 0.01;
constexpr double kLowestSaturationC = -100.0;
constexpr double kHighestSaturationC = 200.0;
// Ratio of the molar masses of water and dry air (ASHRAE 2017, chapter 1).
constexpr double kMassRatio = 0.621945;
// AMS Glossary: 5.82e-4 over ice where it is 6.60e-4 over water.
constexpr double kIceShare = 5.82 / 6.60;
// 80 K / 2^60 is far below a double's last digit at 40 C.
constexpr int kHalvings = 60;

// Hyland and Wexler; `celsius` within -100..200.
double saturation_pa(double celsius) {
  const double t = celsius + kZeroCelsiusK;
  if (celsius <= kTriplePointC)
    return std::exp(
        -5.6745359e3 / t + 6.3925247 +
        t * (-9.677843e-3 + t * (6.2215701e-7 + t * (2.0747825e-9 + t * -9.484024e-13))) +
        4.1635019 * std::log(t));
  return std::exp(-5.8002206e3 / t + 1.3914993 +
                  t * (-4.8640239e-2 + t * (4.1764768e-5 + t * -1.4452093e-8)) +
                  6.5459673 * std::log(t));
}

double saturation_hpa(double celsius) { return saturation_pa(celsius) / 100.0; }

struct Psychrometer {
  double pressure_hpa;
  std::optional<double> coefficient_per_k;
};

// Vapour pressure in hPa of air with this dry and wet bulb; negative for a pair that cannot be.
double vapour_pressure_at(double dry_c, double wet_c, const Psychrometer& psychrometer) {
  const double p = psychrometer.pressure_hpa;
  const double saturated = saturation_hpa(wet_c);
  const bool ice = wet_c < 0;
  if (psychrometer.coefficient_per_k) {
    const double a = *psychrometer.coefficient_per_k * (ice ? kIceShare : 1.0);
    return saturated - a * p * (dry_c - wet_c);
  }
  // ASHRAE 2017, chapter 1, equations 33 and 35: the energy balance of adiabatic saturation.
  const double ws = kMassRatio * saturated / (p - saturated);
  const double w = ice ? ((2830 - 0.24 * wet_c) * ws - 1.006 * (dry_c - wet_c)) /
                             (2830 + 1.86 * dry_c - 2.1 * wet_c)
                       : ((2501 - 2.326 * wet_c) * ws - 1.006 * (dry_c - wet_c)) /
                             (2501 + 1.86 * dry_c - 4.186 * wet_c);
  return p * w / (kMassRatio + w);
}

template <class Function>
double halve(double low, double high, double wanted, Function rising) {
  for (int i = 0; i < kHalvings; ++i) {
    const double middle = (low + high) / 2;
    (rising(middle) < wanted ? low : high) = middle;
  }
  return high;
}

// Dry air of 60 C has its wet bulb 40 K lower; 70 leaves room and stays inside the ice formula.
constexpr double kDeepestDepressionK = 70.0;

double wet_bulb_of(double dry_c, double vapour_hpa, const Psychrometer& psychrometer) {
  return halve(dry_c - kDeepestDepressionK, dry_c, vapour_hpa,
               [&](double wet) { return vapour_pressure_at(dry_c, wet, psychrometer); });
}

std::optional<double> dew_point_of(double dry_c, double vapour_hpa) {
  if (vapour_hpa < saturation_hpa(kLowestSaturationC)) return std::nullopt;
  return halve(kLowestSaturationC, dry_c, vapour_hpa, saturation_hpa);
}

MoistAir air_of(double dry_c, double vapour_hpa, const Psychrometer& psychrometer) {
  MoistAir air;
  air.dry_bulb_c = dry_c;
  air.pressure_hpa = psychrometer.pressure_hpa;
  air.saturation_pressure_hpa = saturation_hpa(dry_c);
  air.vapour_pressure_hpa = std::clamp(vapour_hpa, 0.0, air.saturation_pressure_hpa);
  air.relative_humidity_percent = 100 * air.vapour_pressure_hpa / air.saturation_pressure_hpa;
  air.wet_bulb_c = wet_bulb_of(dry_c, air.vapour_pressure_hpa, psychrometer);
  air.dew_point_c = dew_point_of(dry_c, air.vapour_pressure_hpa);
  return air;
}

// What every way in has in common: the dry bulb, the site and the psychrometer are possible.
Result<Psychrometer> psychrometer_at(double dry_c, double altitude_m,
                                     std::optional<double> coefficient) {
  if (auto bad = out_of_range("dry bulb", dry_c, kLowestDryBulbC, kHighestDryBulbC, "°C"))
    return *bad;
  if (coefficient)
    if (auto bad = out_of_range("psychrometer coefficient", *coefficient, kLowestCoefficientPerK,
                                kHighestCoefficientPerK, "per kelvin"))
      return *bad;
  const Result<double> pressure = standard_pressure_hpa(altitude_m);
  if (!pressure) return Refusal{pressure.why()};
  return Psychrometer{*pressure, coefficient};
}

Refusal above(const char* what, double found_c, double dry_c, const char* because) {
  return Refusal{std::string(what) + " " + figure(found_c) + " °C is above the dry bulb " +
                 figure(dry_c) + " °C: " + because};
}

}  // namespace

Result<double> saturation_pressure_hpa(double celsius) {
  if (auto bad =
          out_of_range("temperature", celsius, kLowestSaturationC, kHighestSaturationC, "°C"))
    return *bad;
  return saturation_hpa(celsius);
}

Result<double> standard_pressure_hpa(double altitude_m) {
  if (auto bad = out_of_range("altitude", altitude_m, kLowestAltitudeM, kHighestAltitudeM, "m"))
    return *bad;
  return 1013.25 * std::pow(1 - 2.25577e-5 * altitude_m, 5.2559);
}

Result<MoistAir> from_wet_bulb(double dry_c, double wet_c, double altitude_m,
                               std::optional<double> coefficient_per_k) {
  const auto psychrometer = psychrometer_at(dry_c, altitude_m, coefficient_per_k);
  if (!psychrometer) return Refusal{psychrometer.why()};
  if (std::isfinite(wet_c) && wet_c > dry_c)
    return above("wet bulb", wet_c, dry_c,
                 "a wet wick cannot be warmer than the air around it; see which probe is which");
  if (auto bad = out_of_range("wet bulb", wet_c, dry_c - kDeepestDepressionK, dry_c, "°C"))
    return *bad;
  const double vapour = vapour_pressure_at(dry_c, wet_c, *psychrometer);
  if (vapour < 0)
    return Refusal{"wet bulb " + figure(wet_c) + " °C is too cold for a dry bulb of " +
                   figure(dry_c) + " °C: perfectly dry air would show " +
                   figure(wet_bulb_of(dry_c, 0, *psychrometer), 1) + " °C"};
  MoistAir air = air_of(dry_c, vapour, *psychrometer);
  air.wet_bulb_c = wet_c;
  return air;
}

Result<MoistAir> from_relative_humidity(double dry_c, double percent, double altitude_m,
                                        std::optional<double> coefficient_per_k) {
  const auto psychrometer = psychrometer_at(dry_c, altitude_m, coefficient_per_k);
  if (!psychrometer) return Refusal{psychrometer.why()};
  if (auto bad = out_of_range("relative humidity", percent, 0, 100, "%")) return *bad;
  return air_of(dry_c, saturation_hpa(dry_c) * percent / 100, *psychrometer);
}

Result<MoistAir> from_dew_point(double dry_c, double dew_c, double altitude_m,
                                std::optional<double> coefficient_per_k) {
  const auto psychrometer = psychrometer_at(dry_c, altitude_m, coefficient_per_k);
  if (!psychrometer) return Refusal{psychrometer.why()};
  if (std::isfinite(dew_c) && dew_c > dry_c)
    return above("dew point", dew_c, dry_c, "air that warm cannot hold so much water");
  if (auto bad = out_of_range("dew point", dew_c, kLowestSaturationC, dry_c, "°C")) return *bad;
  return air_of(dry_c, saturation_hpa(dew_c), *psychrometer);
}

Result<MoistAir> from_vapour_pressure(double dry_c, double vapour_pressure_hpa, double altitude_m,
                                      std::optional<double> coefficient_per_k) {
  const auto psychrometer = psychrometer_at(dry_c, altitude_m, coefficient_per_k);
  if (!psychrometer) return Refusal{psychrometer.why()};
  if (auto bad =
          out_of_range("vapour pressure", vapour_pressure_hpa, 0, saturation_hpa(dry_c), "hPa"))
    return *bad;
  return air_of(dry_c, vapour_pressure_hpa, *psychrometer);
}

}  // namespace clutchward
