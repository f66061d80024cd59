// Moist air: relative humidity, wet bulb, dew point or vapour pressure in, all of them out, at the
// site's altitude. It refuses what cannot be (a wet bulb above the dry one, a site at 9,000 m) with
// a sentence, and never shows more than 100 %.
//
// Formulas: ASHRAE Handbook - Fundamentals 2017, chapter 1, in SI: saturation pressure after Hyland
// and Wexler (1983), standard atmosphere, thermodynamic wet bulb. A psychrometer with a coefficient
// of its own follows the psychrometric equation e = es(wet) - A p (dry - wet) (AMS Glossary of
// Meteorology, "Psychrometric formula"). Air behaves as an ideal mixture; the enhancement factor
// (0.4 % of the pressure) falls out of a ratio and is left out, as ASHRAE does.
#pragma once

#include <optional>

#include "base/result.h"

namespace clutchward {

// What a reading can be at all (design: plausible range of a temperature).
inline constexpr double kLowestDryBulbC = -20.0;
inline constexpr double kHighestDryBulbC = 60.0;
// The lowest shore and the highest town.
inline constexpr double kLowestAltitudeM = -430.0;
inline constexpr double kHighestAltitudeM = 5000.0;

// Psychrometer coefficients A per kelvin, for a wet wick; over ice each is 5.82/6.60 of it (AMS
// Glossary). Aspirated: Sprung's, about 3 to 5 m/s of air over the wick. The other two: FAO
// Irrigation and Drainage Paper 56 (1998), chapter 3, from memory.
inline constexpr double kAspiratedPerK = 6.62e-4;
inline constexpr double kNaturallyVentilatedPerK = 8.0e-4;
inline constexpr double kUnventilatedPerK = 12.0e-4;
// Coefficients outside this were seen in no source (6.2e-4 to 12e-4, with a margin).
inline constexpr double kLowestCoefficientPerK = 5.0e-4;
inline constexpr double kHighestCoefficientPerK = 15.0e-4;

struct MoistAir {
  double dry_bulb_c = 0;
  // Thermodynamic, or what a psychrometer of the given coefficient shows; below 0 C of an ice bulb.
  double wet_bulb_c = 0;
  // Frost point below 0 C; none where the air holds no water that a formula could tell (under
  // -100 C).
  std::optional<double> dew_point_c;
  double relative_humidity_percent = 0;  // 0..100
  double vapour_pressure_hpa = 0;
  double saturation_pressure_hpa = 0;  // at the dry bulb
  double pressure_hpa = 0;             // of the site

  // What drives water out of an egg as warm as the air, in hPa.
  double deficit_hpa() const { return saturation_pressure_hpa - vapour_pressure_hpa; }
  bool operator==(const MoistAir&) const = default;
};

// Saturation vapour pressure in hPa over water, from 0.01 C down over ice. -100..200 C. Hyland and
// Wexler 1983 as ASHRAE prints them; within 0.03 % of ASHRAE's table 3. Refused outside the range.
Result<double> saturation_pressure_hpa(double celsius);

// Pressure in hPa of the standard atmosphere. -430..5000 m, refused outside. ASHRAE 2017, chapter
// 1, equation 3; weather moves the true pressure by 3 %, which moves 58 % RH by less than 0.1.
Result<double> standard_pressure_hpa(double altitude_m);

// All of the air's figures from its dry bulb (C, -20..60) and the wet one. Without `coefficient`
// the wet bulb is taken as thermodynamic. Refused: what is not finite or out of range, wet above
// dry, and a pair so far apart that the air would hold less than no water. Two tenths of a degree
// on the wet bulb are 1 % RH: the answer is as good as the wick.
Result<MoistAir> from_wet_bulb(double dry_c, double wet_c, double altitude_m,
                               std::optional<double> coefficient_per_k = std::nullopt);

// The same from relative humidity in percent, 0..100 (100 es^-1 e, over water above 0.01 C).
// The wet bulb is found to 1e-9 K, except within the jump where a wick freezes.
Result<MoistAir> from_relative_humidity(double dry_c, double percent, double altitude_m,
                                        std::optional<double> coefficient_per_k = std::nullopt);

// The same from the dew point (C, -100 to the dry bulb; frost point below 0).
Result<MoistAir> from_dew_point(double dry_c, double dew_c, double altitude_m,
                                std::optional<double> coefficient_per_k = std::nullopt);

// The same from the vapour pressure in hPa, from 0 to saturation.
Result<MoistAir> from_vapour_pressure(double dry_c, double vapour_pressure_hpa, double altitude_m,
                                      std::optional<double> coefficient_per_k = std::nullopt);

}  // namespace clutchward
