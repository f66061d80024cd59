// Warming and cooling of whole eggs against published trials and closed forms.
#include "incubation/egg_heat.h"

#include <gtest/gtest.h>

#include <cmath>

namespace clutchward {
namespace {

// Am. J. Physiol. 1978, 234:R183, seen: from a bench of 25 C put back at 38 C, an egg needs nearly
// two hours for 90 % of the lost heat.
TEST(PublishedEggHeat, NinetyPercentInTwoHours) {
  const double egg = egg_after_steady_air(25, 38, 120, kHenEggTimeConstantMin);
  EXPECT_NEAR((egg - 25) / 13, 0.90, 0.01);
  EXPECT_NEAR(120 / std::log(10), kHenEggTimeConstantMin, 0.2);
}

// Derived: a goose's egg of 160 g (77 min) from 37.5 C in a room of 20 C.
TEST(PublishedEggHeat, GooseEggOnAnAiring) {
  const auto tau = egg_time_constant_min(160);
  ASSERT_TRUE(tau);
  EXPECT_NEAR(*tau, 77, 0.1);
  EXPECT_NEAR(egg_after_steady_air(37.5, 20, 15, *tau), 34.4, 0.1);
  EXPECT_NEAR(egg_after_steady_air(37.5, 20, 30, *tau), 31.9, 0.1);
  EXPECT_NEAR(egg_after_steady_air(37.5, 20, 60, *tau), 28.0, 0.1);
}

// The step response of a first-order lag, in any textbook: 63.2, 86.5, 95.0, 98.2, 99.3 %.
TEST(PublishedEggHeat, StepResponse) {
  constexpr double kShares[] = {0.632121, 0.864665, 0.950213, 0.981684, 0.993262};
  for (int n = 1; n <= 5; ++n)
    EXPECT_NEAR(egg_after_steady_air(0, 1, n * 52.0, 52), kShares[n - 1], 1e-6);
}

// Behind a ramp of 0.02 C a minute an egg of 52 min trails by 1.04 C in the end: closed form.
TEST(PublishedEggHeat, TrailsBehindARamp) {
  constexpr double kRows[][2] = {
      {10, 0.18194}, {52, 0.65741}, {104, 0.89925}, {156, 0.98822}, {300, 1.03675}};
  for (const auto& [minutes, trail] : kRows) {
    const double air = 37.5 + 0.02 * minutes;
    EXPECT_NEAR(air - egg_after_changing_air(37.5, 37.5, air, minutes, 52), trail, 1e-4);
  }
}

// UC IPM, the average method, seen: mean 64 F over a threshold of 53 F is 11 degree-days (F), that
// is 264 degree-hours (F).
TEST(PublishedEggHeat, DegreeHours) {
  using std::chrono::hours;
  const auto celsius = [](double f) { return (f - 32) / 1.8; };
  const auto dose = heat_dose({{hours{0}, celsius(64)}, {hours{24}, celsius(64)}}, Beyond::above,
                              celsius(53), hours{24});
  ASSERT_TRUE(dose) << dose.why();
  EXPECT_NEAR(dose->degree_hours * 1.8, 264, 1e-9);
  EXPECT_NEAR(dose->hours, 24, 1e-12);
}

}  // namespace
}  // namespace clutchward
