// How much water the eggs have lost, whether they are on the line to what they should have lost at
// lockdown, and the humidity that would bring them back. It judges no breed: the wanted loss comes
// from the profile or the keeper. It refuses a weighing that cannot be (an egg gains no mass).
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/result.h"

namespace clutchward {

// Longest incubation of any bird is under 90 days.
inline constexpr double kLongestIncubationDays = 90.0;
// A scale of 0.1 g on a loss near 0.3 g an egg and day is a tenth wrong over three days; a rate
// over less is not shown as the present one. (Our own choice.)
inline constexpr double kShortestRateDays = 3.0;

// One weighing of the clutch or of a tray, container taken off.
struct EggWeighing {
  double day = 0;     // since setting, in days of 24 h
  double mass_g = 0;  // of all eggs on the scale
  int eggs = 0;       // eggs on the scale
  bool operator==(const EggWeighing&) const = default;
};

struct WantedLoss {
  double percent = 0;  // of the set mass, wanted at `by_day`
  double by_day = 0;   // lockdown
  bool operator==(const WantedLoss&) const = default;
};

// All masses are means of one egg.
struct MassLoss {
  double day = 0;                   // of the last weighing
  double set_mass_g = 0;            // at setting
  bool set_mass_estimated = false;  // no weighing on day 0..1: the line drawn back to day 0
  bool compared_by_mean =
      false;                // eggs differ between weighings without a second weighing that day
  double lost_percent = 0;  // of the set mass, up to `day`
  double line_percent = 0;  // what the straight line to the wanted loss asks for at `day`
  // Per day and % of set mass: over the last three days or more, and the mean needed from now on.
  std::optional<double> daily_percent;
  std::optional<double> needed_daily_percent;  // none from lockdown on
  std::optional<double> projected_percent;     // at lockdown, if the present rate goes on
  bool operator==(const MassLoss&) const = default;
};

// Why `added` cannot follow `before` (all of which are in order), or none: not finite, no mass, no
// eggs, a day outside 0..90 or before the last one, heavier per egg than the last, or less than
// half of it (a slip of the decimal point: no published loss passes 20 %). A second weighing on the
// same day with fewer eggs is how eggs taken out are told.
std::optional<Refusal> weighing_fault(const std::vector<EggWeighing>& before,
                                      const EggWeighing& added);

// The state of the loss after the last of `weighings`. Eggs removed between two weighings: where
// both fall on one day (within 2 h) the second only sets the new base and counts as no loss; else
// means per egg are compared, which supposes that those removed were of mean mass
// (`compared_by_mean` says so). Refused: fewer than one weighing, a faulty one (its number is
// named), a single one after day 1 (nothing to compare with), wanted loss outside 1..40 %, lockdown
// outside 1..90 d. The line is straight (Hand-Rearing Birds, 2nd ed., figure 3.1); true loss is
// within a few per cent of it while temperature and humidity stand.
Result<MassLoss> mass_loss(const std::vector<EggWeighing>& weighings, const WantedLoss& wanted);

// Mass in g that the straight line asks for at `day`: W0 (1 - L day / by_day), Hand-Rearing Birds,
// 2nd ed., figure 3.1. Mass 0.1..5000 g.
Result<double> line_mass_g(double set_mass_g, const WantedLoss& wanted, double day);

// Loss in % of the first mass over `incubation_days`, if what was lost in `days` goes on:
// (S - E) / D x I / S x 100 (Hand-Rearing Birds, 2nd ed., p. 553). A gain is refused.
Result<double> projected_loss_percent(double first_g, double now_g, double days,
                                      double incubation_days);

// The loss that a humidity change makes of `loss_percent`, all else equal: loss follows the deficit
// of vapour pressure (Ar et al. 1974), 100 - RH at one temperature. Supposes the egg as warm as the
// air (late embryos are warmer and lose more), and an unchanged shell. Measured against Japanese
// quail at 36, 52 and 76 % RH (Romao 2009): 8.93 for 8.94 %, 4.39 for 4.89 %.
Result<double> loss_at_humidity_percent(double loss_percent, double humidity_percent,
                                        double other_humidity_percent);

// The relative humidity that turns the observed daily loss into the wanted one, on the same
// suppositions: 100 - (100 - RH) wanted / observed. Refused where no humidity does it: nothing left
// to lose, or even perfectly dry air too little; then the sentence says which.
Result<double> humidity_for_loss_percent(double humidity_percent, double observed_daily,
                                         double wanted_daily);

// Loss in % from the shell's conductance, in mg per day and torr for 100 g of egg: G deficit days
// (Meir and Ar 1987). A torr is 1.333224 hPa.
Result<double> conductance_loss_percent(double mg_per_100_g_day_torr, double deficit_hpa,
                                        double days);

}  // namespace clutchward
