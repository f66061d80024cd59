// The two published shape formulas.
#include "incubation/egg_shape.h"

#include "incubation/figure.h"

namespace clutchward {

Result<EggShape> egg_shape(double length_mm, double breadth_mm, double specific_gravity) {
  if (auto bad = out_of_range("length", length_mm, 15, 200, "mm")) return *bad;
  if (auto bad = out_of_range("breadth", breadth_mm, 10, 160, "mm")) return *bad;
  if (auto bad = out_of_range("specific gravity", specific_gravity, 1.0, 1.2, "")) return *bad;
  if (breadth_mm > length_mm)
    return Refusal{"breadth " + figure(breadth_mm) + " mm is more than the length " +
                   figure(length_mm) + " mm: the longer measure is the length"};
  const double box_ml = length_mm * breadth_mm * breadth_mm / 1000;
  EggShape shape;
  shape.narushin_volume_ml = (0.6057 - 0.0018 * breadth_mm) * box_ml;
  shape.narushin_surface_cm2 =
      (3.155 - 0.0136 * length_mm + 0.0115 * breadth_mm) * length_mm * breadth_mm / 100;
  shape.hoyt_volume_ml = 0.51 * box_ml;
  shape.fresh_mass_g = shape.hoyt_volume_ml * specific_gravity;
  return shape;
}

}  // namespace clutchward
