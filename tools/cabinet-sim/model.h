// The thermal model of one incubator cabinet: plain arithmetic on numbers that are handed in. It
// knows no clock, no broker, no randomness and no faults; those turn its Inputs.
//
//   C_air dT_air/dt = P + (L + D door)(T_room - T_air) + (C_eggs / tau)(T_egg - T_air)
//   C_eggs dT_egg/dt =    (C_eggs / tau)(T_air - T_egg) + n q(day)
//
// with P the heater's watts, L the walls' loss, D what an open door adds, n eggs, tau their lag and
// q one embryo's own heat.
#pragma once

#include <optional>

namespace clutchward::sim {

enum class Thermostat { proportional, on_off };

// What does not change while a cabinet runs. "Guess" marks numbers chosen to look like a machine
// for some dozens of eggs on a table; nobody measured them.
struct Machine {
  Thermostat thermostat = Thermostat::proportional;
  double target_c = 37.5;
  double heater_w = 120;    // guess: three quarters more than a 20 C room asks for
  double loss_w_per_k = 4;  // guess: 70 W hold 37.5 C in a 20 C room
  double air_j_per_k =
      7200;  // guess: with the loss it makes a time constant of 30 min, walls included
  double door_w_per_k = 12;  // guess: a door wide open loses four times what the walls do
  double eggs = 48;
  double egg_j_per_k = 192;    // 60 g of 3.2 J/(g K), the specific heat from published notes
  double egg_lag_s = 52 * 60;  // derived from 90 % of the heat regained in nearly 2 h (published)
  double embryo_w = 0.14;      // from memory: a hen's embryo shortly before it hatches
  double days = 21;            // length of incubation
  // Top minus bottom in a 20 C room; guesses. 0.2 is what a good fan leaves.
  double spread_fan_k = 0.2;
  double spread_still_k = 3.0;
  double spread_lag_s = 10 * 60;      // guess
  double full_power_below_k = 1.5;    // guess: proportional band
  double reset_s = 15 * 60;           // guess: integral time
  double hysteresis_k = 0.4;          // guess: of the on/off thermostat, whole width
  double humidity_rh = 55;            // held by a water tray; within what tables ask of setters
  double vapour_lag_s = 20 * 60;      // guess: tray and vents
  double vapour_door_lag_s = 2 * 60;  // guess
  double room_rh = 50;                // guess
};

// What acts on the cabinet from outside during one span.
struct Inputs {
  double room_c = 20;
  double day = 3;     // of incubation
  bool mains = true;  // without it: no heater, no fan
  bool fan = true;
  double door = 0;                        // 0 shut ... 1 wide open
  std::optional<double> heater_forced{};  // share of full power, whatever the thermostat wants
  double creep_k = 0;                     // how much too cold the thermostat feels
};

struct State {
  double air_c = 20;
  double egg_c = 20;
  double spread_k = 0;  // top minus bottom
  double vapour_hpa = 0;
  double integral = 0;  // the thermostat's memory, share of full power
  double heater = 0;    // share of full power over the last step
};

// Saturation vapour pressure over water, hPa (Magnus form with the constants of Alduchov and
// Eskridge 1996, from memory; within 0.1 % of the tables between 0 and 50 C).
double saturation_hpa(double celsius);

// One embryo's heat on a day, watts: rising by e every eighth of the incubation and level from
// 85 % of it (the shape is from memory: almost none in the first half, a plateau before hatching).
double embryo_heat_w(const Machine& machine, double day);

// The state in which nothing changes any more under `inputs`, the thermostat working; where the
// heater is too weak or the eggs too warm for the target, the state at full power or at none.
State settled(const Machine& machine, const Inputs& inputs);

// Everything at the temperature and humidity of the room.
State cold(const Machine& machine, const Inputs& inputs);

// `seconds` later. Integrated by Runge-Kutta of fourth order in steps of at most 5 s, the
// thermostat deciding once a step: against time constants of minutes the error is below 1e-6 K.
State advance(const Machine& machine, State state, const Inputs& inputs, double seconds);

// Relative humidity in percent at the cabinet's air temperature, 0 to 100.
double humidity_rh(const State& state);

}  // namespace clutchward::sim
