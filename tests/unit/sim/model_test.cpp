// The thermal model against closed formulas. Its constants are guesses (see model.h); what is
// checked here is that the arithmetic is that of the formulas, and the figures that the reference
// sheet takes from publications.
#include "cabinet-sim/model.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

namespace clutchward::sim {
namespace {

constexpr double kHour = 3600;

Machine empty() {
  Machine m;
  m.eggs = 0;
  return m;
}

TEST(Model, SettledBalancesTheEnergyAndStaysPut) {
  for (const double day : {1.0, 10.0, 18.0, 21.0}) {
    const Machine m;
    const Inputs in{.day = day};
    const State s = settled(m, in);
    EXPECT_NEAR(s.air_c, 37.5, 1e-9);
    EXPECT_NEAR(s.heater * m.heater_w + m.eggs * embryo_heat_w(m, day),
                m.loss_w_per_k * (s.air_c - in.room_c), 1e-9);
    const State later = advance(m, s, in, 24 * kHour);
    EXPECT_NEAR(later.air_c, s.air_c, 1e-6);
    EXPECT_NEAR(later.egg_c, s.egg_c, 1e-6);
    EXPECT_NEAR(later.heater, s.heater, 1e-6);
    EXPECT_NEAR(humidity_rh(later), 55, 1e-6);
  }
}

TEST(Model, HeaterDeadFallsTowardsTheRoomWithTheCabinetsTimeConstant) {
  const Machine m = empty();
  const double tau = m.air_j_per_k / m.loss_w_per_k;
  EXPECT_DOUBLE_EQ(tau, 30 * 60);
  const Inputs in{.heater_forced = 0};
  const State start = settled(m, {});
  for (const double t : {60.0, 600.0, tau, 3 * tau, 6 * kHour})
    EXPECT_NEAR(advance(m, start, in, t).air_c, 20 + 17.5 * std::exp(-t / tau), 1e-6) << t;
}

TEST(Model, HeaterOnRisesByTheClosedFormula) {
  const Machine m = empty();
  const double tau = m.air_j_per_k / m.loss_w_per_k;
  const double last = 20 + m.heater_w / m.loss_w_per_k;
  const State start = settled(m, {});
  for (const double t : {60.0, 600.0, 7200.0})
    EXPECT_NEAR(advance(m, start, {.heater_forced = 1}, t).air_c,
                last + (37.5 - last) * std::exp(-t / tau), 1e-6)
        << t;
}

// Both closed formulas at once: the sum of two exponentials of the coupled pair.
TEST(Model, AirAndEggsTogetherFollowTheTwoExponentials) {
  const Machine m;
  const Inputs in{.day = -1000, .heater_forced = 0};  // long before the embryo gives heat
  const double eggs = m.eggs * m.egg_j_per_k;
  const double a = (m.loss_w_per_k + eggs / m.egg_lag_s) / m.air_j_per_k;
  const double b = eggs / m.egg_lag_s / m.air_j_per_k;
  const double c = 1 / m.egg_lag_s;
  const double root = std::sqrt((a - c) * (a - c) / 4 + b * c);
  const double slow = (a + c) / 2 - root, fast = (a + c) / 2 + root;
  // From air = eggs = room + 17.5: d(air)/dt = -(a - b) * 17.5 at the start.
  const double k = 17.5 * (fast - (a - b)) / (fast - slow);
  const State start = settled(m, {.day = -1000});
  for (const double t : {300.0, 1800.0, 7200.0, 6 * kHour})
    EXPECT_NEAR(advance(m, start, in, t).air_c,
                20 + k * std::exp(-slow * t) + (17.5 - k) * std::exp(-fast * t), 1e-5)
        << t;
}

// An egg on a 25 C bench, put back, needs nearly 2 h to regain 90 % of the lost heat (Am. J.
// Physiol. 1978, 234:R183, abstract seen).
TEST(Model, AnEggRegainsNineTenthsInAboutTwoHours) {
  Machine m;
  m.eggs = 1;
  m.air_j_per_k = 1e12;  // the air of a cabinet that one egg does not cool
  State s = settled(m, {.day = -1000});
  s.egg_c = 25;
  const Inputs in{.day = -1000};
  EXPECT_LT(advance(m, s, in, 115 * 60).egg_c, 25 + 0.9 * 12.5);
  EXPECT_GT(advance(m, s, in, 121 * 60).egg_c, 25 + 0.9 * 12.5);
}

TEST(Model, StuckHeaterPassesTwoDegreesOverTheTargetWithinTheHour) {
  const Machine m;
  const State s = settled(m, {});
  EXPECT_LT(advance(m, s, {.heater_forced = 1}, 60).air_c, 39.5);
  EXPECT_GT(advance(m, s, {.heater_forced = 1}, kHour).air_c, 39.5);
}

TEST(Model, ProportionalThermostatComesBackAfterADoorAndSettles) {
  const Machine m;
  State s = advance(m, settled(m, {}), {.door = 1}, 600);
  EXPECT_LT(s.air_c, 34);
  double hottest = 0;
  for (int minute = 0; minute < 360; ++minute) {
    s = advance(m, s, {}, 60);
    hottest = std::max(hottest, s.air_c);
  }
  EXPECT_NEAR(s.air_c, 37.5, 0.05);
  EXPECT_LT(hottest,
            38.5);  // one degree over the target would be a "warm" alarm in common practice
}

TEST(Model, OnOffThermostatSwingsAboutTheTarget) {
  Machine m;
  m.thermostat = Thermostat::on_off;
  State s = settled(m, {});
  double low = 99, high = 0;
  for (int i = 0; i < 4 * 360; ++i) {
    s = advance(m, s, {}, 10);
    EXPECT_TRUE(s.heater == 0 || s.heater == 1);
    low = std::min(low, s.air_c);
    high = std::max(high, s.air_c);
  }
  // Half the hysteresis, and at most what one 5 s step at full power adds past it (0.05 K).
  EXPECT_NEAR(low, 37.3, 0.06);
  EXPECT_NEAR(high, 37.7, 0.06);
}

TEST(Model, CreepingThermostatCarriesTheAirWithIt) {
  const Machine m;
  const State s = advance(m, settled(m, {}), {.creep_k = 1.5}, 6 * kHour);
  EXPECT_NEAR(s.air_c, 39.0, 0.05);
}

TEST(Model, StillAirLayers) {
  const Machine m;
  const State s = settled(m, {});
  EXPECT_NEAR(s.spread_k, 0.2, 1e-9);
  EXPECT_GT(advance(m, s, {.fan = false}, kHour).spread_k, 1.5);
  EXPECT_NEAR(advance(m, s, {.fan = false}, 6 * kHour).spread_k, 3.0, 0.01);
}

TEST(Model, NoMainsMeansNeitherHeaterNorFan) {
  const Machine m = empty();
  const State s = advance(m, settled(m, {}), {.mains = false}, 1800);
  EXPECT_EQ(s.heater, 0);
  EXPECT_NEAR(s.air_c, 20 + 17.5 / std::numbers::e, 1e-6);
  EXPECT_GT(s.spread_k, 0.2);
}

TEST(Model, EmbryosGiveHeatLate) {
  const Machine m;
  EXPECT_LT(embryo_heat_w(m, 3), 0.002);
  EXPECT_GT(embryo_heat_w(m, 18), 0.13);
  EXPECT_EQ(embryo_heat_w(m, 21), m.embryo_w);
  // Warmer than the air by q tau / c = 0.14 W x 3120 s / 192 J/K.
  const State s = settled(m, {.day = 21});
  EXPECT_NEAR(s.egg_c - s.air_c, 2.275, 1e-9);
}

TEST(Model, OpenDoorLetsTheDampOut) {
  const Machine m;
  const State s = settled(m, {});
  EXPECT_NEAR(humidity_rh(s), 55, 1e-9);
  EXPECT_LT(humidity_rh(advance(m, s, {.door = 1}, 300)), 45);
  // The same vapour in hotter air is a lower relative humidity.
  EXPECT_LT(humidity_rh(advance(m, s, {.heater_forced = 1}, 1800)), 50);
}

// Saturation at 37.5 C is 64.5 hPa (reference sheet, derived there from Hyland and Wexler).
TEST(Model, SaturationPressure) { EXPECT_NEAR(saturation_hpa(37.5), 64.5, 0.1); }

}  // namespace
}  // namespace clutchward::sim
