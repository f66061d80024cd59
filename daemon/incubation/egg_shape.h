// Volume, surface and fresh mass of an egg from its length and greatest breadth. For records and
// for a set mass that nobody weighed; no weighing is replaced by it.
#pragma once

#include "base/result.h"

namespace clutchward {

// Asmundson and Baker 1940, Poult. Sci. 19:227: specific gravity of fresh hens' eggs 1.082
// (pheasant 1.085, turkey 1.075).
inline constexpr double kHenSpecificGravity = 1.082;

struct EggShape {
  double narushin_volume_ml = 0;    // (0.6057 - 0.0018 B) L B^2, hens' eggs
  double narushin_surface_cm2 = 0;  // (3.155 - 0.0136 L + 0.0115 B) L B, hens' eggs
  double hoyt_volume_ml = 0;        // 0.51 L B^2, birds in general
  double fresh_mass_g = 0;          // Hoyt's volume x specific gravity, birds in general
  bool operator==(const EggShape&) const = default;
};

// From length and breadth in mm (length 15..200, breadth 10..160, not longer across than along) and
// specific gravity 1.0..1.2; refused outside. Narushin 2005, Poult. Sci. 84:482; Hoyt 1979, the
// constant as quoted by Governali et al. 2012, who found pointed (wader) eggs 8 % off.
Result<EggShape> egg_shape(double length_mm, double breadth_mm,
                           double specific_gravity = kHenSpecificGravity);

}  // namespace clutchward
