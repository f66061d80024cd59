// Whole message bodies, one of every kind, and what else a body may hold.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "house.h"

namespace clutchward {
namespace {

using namespace house;
using testing::HasSubstr;
using K = RuleKind;
using P = Priority;
using Q = Quantity;

constexpr const char* kEnd = R"(
Told now: Mara

Clutchward is no safety device: keep an independent over-temperature cut-out, and go and look.
)";

std::string body(House& h) {
  const auto notes = h.pass(10s);
  return notes.size() == 1 ? notes[0].message : "not one message";
}

TEST(Body, TooHot) {
  House h;
  h.raise(h.high(), 39'800);
  EXPECT_EQ(body(h), std::string(R"(TOO HOT: Setter A, 39.8 °C and rising, at most 39.5 °C
New alarm (high, priority high).
Batch hens-12, Domestic hen, day 4.8, stage setting
Target: 37.5 °C
Since: 02:14 GMT
Worst: 39.8 °C
Now: nobody has it yet

What to do first:
- Open the door or the vents and let the heat out; this holds in lockdown too.
- Then find the cause: sun or a heat source on the machine, a hot room, a heater that sticks on, a fan that stands still.
- Do not leave it propped open as a cure: close it once it is back in range.
- Do not work on the wiring: unplug a heater that will not switch off and leave it to a licensed electrician.
)") + kEnd);
}

TEST(Body, TooCold) {
  House h;
  h.raise(h.alarm("setter-a", "low", K::below, P::high, 34'500), 33'900);
  EXPECT_EQ(body(h), std::string(R"(TOO COLD: Setter A, 33.9 °C and rising, at least 34.5 °C
New alarm (low, priority high).
Batch hens-12, Domestic hen, day 4.8, stage setting
Target: 37.5 °C
Since: 02:14 GMT
Worst: 33.9 °C
Now: nobody has it yet

What to do first:
- Look for a door or lid ajar, a power cut, a failed heater or fan, a draught or a cold room.
- Never turn the dial up in the first 48 h: eggs just set take hours to warm up.
- Do not open it in lockdown: only heat is a reason to open then.
- Do not use candles, flames or makeshift heaters: they burn barns down.
)") + kEnd);
}

TEST(Body, TooDamp) {
  House h;
  auto& v = h.alarm("setter-a", "damp", K::above, P::medium, 65'000, Q::humidity);
  h.raise(v, 71'000);
  EXPECT_EQ(body(h), std::string(R"(TOO DAMP: Setter A, 71.0 % and rising, at most 65.0 %
New alarm (damp, priority medium).
Batch hens-12, Domestic hen, day 4.8, stage setting
Since: 02:14 GMT
Worst: 71.0 %
Now: nobody has it yet

What to do first:
- Look for closed vents, too much water surface, a humidifier or valve that sticks open.
- Weigh eggs if you can: their loss decides, not one reading.
- Do not open it in lockdown to dry it: only heat is a reason to open then.
)") + kEnd);
}

TEST(Body, TooDry) {
  House h;
  auto& v = h.alarm("setter-a", "dry", K::below, P::medium, 45'000, Q::humidity);
  h.raise(v, 38'000);
  EXPECT_EQ(body(h), std::string(R"(TOO DRY: Setter A, 38.0 % and rising, at least 45.0 %
New alarm (dry, priority medium).
Batch hens-12, Domestic hen, day 4.8, stage setting
Since: 02:14 GMT
Worst: 38.0 %
Now: nobody has it yet

What to do first:
- Look for an empty pan or bottle, a dry wick, a failed humidifier, a door ajar.
- Weigh eggs if you can: their loss decides, not one reading.
- Do not open it in lockdown: fill the water from outside if the machine allows it.
)") + kEnd);
}

TEST(Body, NoReadings) {
  House h;
  auto& v = h.alarm("setter-a", "blind", K::silent, P::high, {}, Q::temperature, "");
  v.no_data = true;
  h.raise(v);
  EXPECT_EQ(body(h), std::string(R"(NO READINGS: Setter A
New alarm (blind, priority high).
Since: 02:14 GMT
Now: nobody has it yet

What to do first:
- Read the thermometer at the machine first: nobody knows how warm it is.
- Then the probe and its cable, its radio or gateway, its battery, its power.
- Do not take silence for a good sign.
)") + kEnd);
}

TEST(Body, NotTurning) {
  House h;
  auto& v = h.alarm("setter-a", "turning", K::turning, P::medium, {});
  h.raise(v);
  EXPECT_EQ(body(h), std::string(R"(NOT TURNING: Setter A
New alarm (turning, priority medium).
Batch hens-12, Domestic hen, day 4.8, stage setting
Since: 02:14 GMT
Now: nobody has it yet

What to do first:
- Look for a slipped or jammed turner, its motor and plug, and the switch that reports turns.
- Turn by hand until it runs again; the first week matters most.
- Do not reach into the drive while it has power.
)") + kEnd);
}

TEST(Body, TurningNotDue) {
  House h;
  auto& v = h.alarm("setter-a", "still", K::still, P::medium, {});
  h.raise(v);
  EXPECT_EQ(body(h), std::string(R"(TURNING NOT DUE: Setter A
New alarm (still, priority medium).
Batch hens-12, Domestic hen, day 4.8, stage setting
Since: 02:14 GMT
Now: nobody has it yet

What to do first:
- Switch the turner off, best from outside: this batch must lie still now.
- If eggs should still be turned, the batch's set date or stages are wrong: check them.
- Do not open it in lockdown longer than this takes.
)") + kEnd);
}

TEST(Body, ProbesDisagree) {
  House h;
  auto& v = h.alarm("setter-a", "spread", K::spread, P::medium, 1500, Q::temperature, "");
  h.raise(v, 2100);
  EXPECT_EQ(body(h),
            std::string(R"(PROBES DISAGREE: Setter A, 2.1 °C apart and rising, at most 1.5 °C
New alarm (spread, priority medium).
Since: 02:14 GMT
Worst: 2.1 °C
Now: nobody has it yet

What to do first:
- Look for a probe that has slipped, got wet or touches a heater, wall or egg.
- Then a fan that stands still or a blocked air path; put a second thermometer beside each.
- Do not move the dial on the word of one probe.
)") + kEnd);
}

TEST(Body, NoBroker) {
  House h;
  auto& v = h.alarm("", "broker", K::broker, P::high, {}, Q::temperature, "");
  h.raise(v);
  EXPECT_EQ(body(h), std::string(R"(NO BROKER: Saltmere
New alarm (broker, priority high).
Since: 02:14 GMT
Now: nobody has it yet

What to do first:
- Read the thermometers at the machines: nothing is heard of any cabinet while this lasts.
- Then the broker's computer, its power and disk, the network cable, switch or radio link.
- Do not rely on this watch until the broker is back.
)") + kEnd);
}

TEST(Body, MainsLostAtAFanMachine) {
  House h;
  auto& v = h.alarm("setter-a", "power", K::power, P::medium, {}, Q::power, "");
  h.raise(v);
  EXPECT_EQ(body(h), std::string(R"(MAINS LOST: Setter A
New alarm (power, priority medium).
Since: 02:14 GMT
Now: nobody has it yet

What to do first:
- See whether the whole place is dark; a breaker that trips again is for a licensed electrician, a generator only outdoors and as local codes allow.
- Advice differs for a fan machine: open it at once for fresh air (a large, late batch heats itself), or keep it shut for warmth (an early one only cools). You choose.
- Do not give the eggs up: many live through hours of cold; candle 4 to 6 days later.
- Do not use candles, flames or makeshift heaters: they burn barns down.
)") + kEnd);
}

TEST(Body, MainsLostAtAStillAirMachine) {
  House h;
  h.settings.cabinets["setter-a"].machine = MachineType::still;
  h.announcer.configure(h.settings, utc());
  auto& v = h.alarm("setter-a", "power", K::power, P::medium, {}, Q::power, "");
  h.raise(v);
  EXPECT_EQ(body(h), std::string(R"(MAINS LOST: Setter A
New alarm (power, priority medium).
Since: 02:14 GMT
Now: nobody has it yet

What to do first:
- See whether the whole place is dark; a breaker that trips again is for a licensed electrician, a generator only outdoors and as local codes allow.
- Keep a still-air machine shut and cover it, its vents free: it holds heat and moisture.
- Do not give the eggs up: many live through hours of cold; candle 4 to 6 days later.
- Do not use candles, flames or makeshift heaters: they burn barns down.
)") + kEnd);
}

TEST(Body, InFahrenheit) {
  House h;
  h.settings.show = Show::fahrenheit;
  h.announcer.configure(h.settings, utc());
  h.raise(h.high(), 39'800);
  EXPECT_THAT(body(h), HasSubstr("TOO HOT: Setter A, 103.6 °F and rising, at most 103.1 °F\n"));
}

TEST(Body, KeepsNamesAsTheyAreWritten) {
  House h;
  AlarmView& high = h.high();
  high.cabinet_name = "Brüter 孵";
  h.raise(high, 39'800);
  const auto notes = h.out();
  EXPECT_THAT(notes.at(0).message, HasSubstr("TOO HOT: Brüter 孵, 39.8 °C"));
  EXPECT_EQ(notes[0].first_line,
            "TOO HOT Bruter ? 39.8 C rising (max 39.5) since 02:14. Open the door");
}

TEST(Body, SaysWhereTheValueIsOld) {
  House h;
  AlarmView& high = h.high();
  high.no_data = true;
  h.raise(high, 39'800);
  EXPECT_THAT(body(h), HasSubstr("No fresh reading: this is what was last known.\n"));
}

TEST(Body, ListsTheOthersWithWhoHasThem) {
  House h;
  AlarmView& dry = h.alarm("setter-a", "dry", K::below, P::medium, 45'000, Q::humidity);
  h.raise(dry, 38'000);
  h.pass(10s);
  h.acknowledge(dry, "odile");
  h.pass(10s);
  h.raise(h.high(), 39'800);
  EXPECT_THAT(h.out().at(0).message,
              HasSubstr("\nAlso at Setter A:\n- TOO DRY (dry of hens-12): 38.0 % and rising, at "
                        "least 45.0 %, since 02:14; Odile has it since 02:14\n"));
}

}  // namespace
}  // namespace clutchward
