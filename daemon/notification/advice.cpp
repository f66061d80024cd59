// The table of first things to do. Facts from extension publications as the reference sheets give
// them (power cuts, the first 48 h, lockdown, turning) and from the trade (common practice, no
// published source). It refuses to advise flames, fumigation or work on live wiring.
#include "notification/advice.h"

namespace clutchward {
namespace {

constexpr std::string_view kNoFlames =
    "Do not use candles, flames or makeshift heaters: they burn barns down.";

const Advice kHeat = {
    {"Open the door", "Open it"},
    {"Open the door or the vents and let the heat out; this holds in lockdown too.",
     "Then find the cause: sun or a heat source on the machine, a hot room, a heater that sticks "
     "on, a fan that stands still.",
     "Do not leave it propped open as a cure: close it once it is back in range.",
     "Do not work on the wiring: unplug a heater that will not switch off and leave it to a "
     "licensed electrician."}};

const Advice kCold = {
    {"Check door and power", "Check power"},
    {"Look for a door or lid ajar, a power cut, a failed heater or fan, a draught or a cold room.",
     "Never turn the dial up in the first 48 h: eggs just set take hours to warm up.",
     "Do not open it in lockdown: only heat is a reason to open then.", kNoFlames}};

const Advice kDamp = {
    {"Check vents and water", "Check vents"},
    {"Look for closed vents, too much water surface, a humidifier or valve that sticks open.",
     "Weigh eggs if you can: their loss decides, not one reading.",
     "Do not open it in lockdown to dry it: only heat is a reason to open then."}};

const Advice kDry = {
    {"Top up the water", "Add water"},
    {"Look for an empty pan or bottle, a dry wick, a failed humidifier, a door ajar.",
     "Weigh eggs if you can: their loss decides, not one reading.",
     "Do not open it in lockdown: fill the water from outside if the machine allows it."}};

const Advice kSilent = {
    {"Go and look", "Look"},
    {"Read the thermometer at the machine first: nobody knows how warm it is.",
     "Then the probe and its cable, its radio or gateway, its battery, its power.",
     "Do not take silence for a good sign."}};

const Advice kTurning = {
    {"Check turner, turn by hand", "Turn by hand"},
    {"Look for a slipped or jammed turner, its motor and plug, and the switch that reports turns.",
     "Turn by hand until it runs again; the first week matters most.",
     "Do not reach into the drive while it has power."}};

const Advice kStill = {
    {"Switch the turner off", "Turner off"},
    {"Switch the turner off, best from outside: this batch must lie still now.",
     "If eggs should still be turned, the batch's set date or stages are wrong: check them.",
     "Do not open it in lockdown longer than this takes."}};

const Advice kCooling = {{"Air the eggs; check lid", "Air the eggs"},
                         {"See whether the eggs were aired at all, for how long, and whether it is "
                          "closed and warm again.",
                          "One airing missed or overdone does little harm; day after day it costs "
                          "hatch (common practice).",
                          "None in the last days: eggs that pip must not be chilled."}};

const Advice kLid = {
    {"Close the lid", "Close it"},
    {"Look whether the lid or door still stands open after the airing, or the heater stayed off.",
     "Close it now; the low alarm waits for the recovery, so nothing else will tell you for a "
     "while.",
     "Do not turn the dial up to make good: it overshoots."}};

const Advice kSpread = {
    {"Check both probes", "Check probes"},
    {"Look for a probe that has slipped, got wet or touches a heater, wall or egg.",
     "Then a fan that stands still or a blocked air path; put a second thermometer beside each.",
     "Do not move the dial on the word of one probe."}};

const Advice kBroker = {
    {"Check broker and network", "Check network"},
    {"Read the thermometers at the machines: nothing is heard of any cabinet while this lasts.",
     "Then the broker's computer, its power and disk, the network cable, switch or radio link.",
     "Do not rely on this watch until the broker is back."}};

const Advice kPowerForced = {
    {"Check the supply", "Check supply"},
    {"See whether the whole place is dark; a breaker that trips again is for a licensed "
     "electrician, a generator only outdoors and as local codes allow.",
     "Advice differs for a fan machine: open it at once for fresh air (a large, late batch heats "
     "itself), or keep it shut for warmth (an early one only cools). You choose.",
     "Do not give the eggs up: many live through hours of cold; candle 4 to 6 days later.",
     kNoFlames}};

const Advice kPowerStill = {
    {"Check the supply", "Check supply"},
    {"See whether the whole place is dark; a breaker that trips again is for a licensed "
     "electrician, a generator only outdoors and as local codes allow.",
     "Keep a still-air machine shut and cover it, its vents free: it holds heat and moisture.",
     "Do not give the eggs up: many live through hours of cold; candle 4 to 6 days later.",
     kNoFlames}};

}  // namespace

const Advice& advice_for(const AlarmView& view, MachineType machine) {
  switch (view.kind) {
    case RuleKind::above:
      return view.quantity == Quantity::temperature ? kHeat : kDamp;
    case RuleKind::below:
      return view.quantity == Quantity::temperature ? kCold : kDry;
    case RuleKind::silent:
      return kSilent;
    case RuleKind::turning:
      return kTurning;
    case RuleKind::still:
      return kStill;
    case RuleKind::spread:
      return kSpread;
    case RuleKind::broker:
      return kBroker;
    case RuleKind::cooling:
      return kCooling;
    case RuleKind::lid:
      return kLid;
    case RuleKind::power:
      return machine == MachineType::still ? kPowerStill : kPowerForced;
  }
  return kSilent;
}

}  // namespace clutchward
