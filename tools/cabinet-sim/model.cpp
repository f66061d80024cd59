#include "model.h"

#include <algorithm>
#include <cmath>

namespace clutchward::sim {

namespace {

constexpr double kStepSeconds = 5;
// The room in which Machine's two spreads hold; still air layers in proportion to the heat that
// the walls lose.
constexpr double kSpreadRoomGapK = 17.5;

struct Rates {
  double air, egg, spread, vapour;
};

double spread_wanted(const Machine& m, const State& s, const Inputs& in) {
  if (in.mains && in.fan) return m.spread_fan_k;
  return std::max(0.0, m.spread_still_k * (s.air_c - in.room_c) / kSpreadRoomGapK);
}

Rates rates(const Machine& m, const State& s, const Inputs& in) {
  const double loss = (m.loss_w_per_k + m.door_w_per_k * in.door) * (in.room_c - s.air_c);
  const double from_eggs = m.eggs * m.egg_j_per_k / m.egg_lag_s * (s.egg_c - s.air_c);
  const double tray = m.humidity_rh / 100 * saturation_hpa(m.target_c);
  const double room = m.room_rh / 100 * saturation_hpa(in.room_c);
  return {
      (m.heater_w * s.heater + loss + from_eggs) / m.air_j_per_k,
      (s.air_c - s.egg_c) / m.egg_lag_s + embryo_heat_w(m, in.day) / m.egg_j_per_k,
      (spread_wanted(m, s, in) - s.spread_k) / m.spread_lag_s,
      (tray - s.vapour_hpa) / m.vapour_lag_s +
          in.door * (room - s.vapour_hpa) / m.vapour_door_lag_s,
  };
}

State moved(State s, const Rates& r, double seconds) {
  s.air_c += r.air * seconds;
  s.egg_c += r.egg * seconds;
  s.spread_k += r.spread * seconds;
  s.vapour_hpa += r.vapour * seconds;
  return s;
}

// Sets the heater for the coming step.
void decide(const Machine& m, State& s, const Inputs& in, double seconds) {
  if (!in.mains) {
    s.heater = 0;
    return;
  }
  const double below = m.target_c - (s.air_c - in.creep_k);
  if (m.thermostat == Thermostat::on_off) {
    if (below > m.hysteresis_k / 2) s.heater = 1;
    if (below < -m.hysteresis_k / 2) s.heater = 0;
    // Between the two an on/off thermostat keeps what it had, which is never a part of full power.
    s.heater = s.heater >= 0.5 ? 1 : 0;
  } else {
    const double wanted = below / m.full_power_below_k + s.integral;
    s.heater = std::clamp(wanted, 0.0, 1.0);
    // At an end of its range the memory may only move away from that end, or a long warming-up
    // would be paid back as a long overheating.
    if (wanted == s.heater || (wanted > 1) == (below < 0))
      s.integral += below / m.full_power_below_k / m.reset_s * seconds;
  }
  if (in.heater_forced) s.heater = *in.heater_forced;
}

State step(const Machine& m, State s, const Inputs& in, double h) {
  decide(m, s, in, h);
  const Rates a = rates(m, s, in);
  const Rates b = rates(m, moved(s, a, h / 2), in);
  const Rates c = rates(m, moved(s, b, h / 2), in);
  const Rates d = rates(m, moved(s, c, h), in);
  s = moved(s, a, h / 6);
  s = moved(s, b, h / 3);
  s = moved(s, c, h / 3);
  s = moved(s, d, h / 6);
  s.vapour_hpa = std::min(s.vapour_hpa, saturation_hpa(s.air_c));
  return s;
}

}  // namespace

double saturation_hpa(double celsius) {
  return 6.1094 * std::exp(17.625 * celsius / (celsius + 243.04));
}

double embryo_heat_w(const Machine& machine, double day) {
  return machine.embryo_w * std::min(1.0, std::exp((day / machine.days - 0.85) * 8));
}

State settled(const Machine& m, const Inputs& in) {
  State s;
  const double loss_w_per_k = m.loss_w_per_k + m.door_w_per_k * in.door;
  const double eggs_w = m.eggs * embryo_heat_w(m, in.day);
  const double wanted_w = loss_w_per_k * (m.target_c + in.creep_k - in.room_c) - eggs_w;
  s.integral = s.heater = std::clamp(wanted_w / m.heater_w, 0.0, 1.0);
  s.air_c = in.room_c + (s.heater * m.heater_w + eggs_w) / loss_w_per_k;
  s.egg_c = s.air_c + embryo_heat_w(m, in.day) / m.egg_j_per_k * m.egg_lag_s;
  s.spread_k = spread_wanted(m, s, in);
  s.vapour_hpa = m.humidity_rh / 100 * saturation_hpa(m.target_c);
  return s;
}

State cold(const Machine& m, const Inputs& in) {
  State s;
  s.air_c = s.egg_c = in.room_c;
  s.vapour_hpa = m.room_rh / 100 * saturation_hpa(in.room_c);
  return s;
}

State advance(const Machine& machine, State state, const Inputs& inputs, double seconds) {
  while (seconds > 0) {
    const double h = std::min(seconds, kStepSeconds);
    state = step(machine, state, inputs, h);
    seconds -= h;
  }
  return state;
}

double humidity_rh(const State& state) {
  return std::clamp(100 * state.vapour_hpa / saturation_hpa(state.air_c), 0.0, 100.0);
}

}  // namespace clutchward::sim
