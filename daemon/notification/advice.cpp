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

const Advice kEarly = {{"Go and look in time", "Look in time"},
                       {"Nothing is wrong yet: there is time to look before the limit is reached.",
                        "Look for sun or a draught on the machine, a door ajar, a hot or cold "
                        "room, a tired heater, a fan "
                        "that runs slowly, a thermostat that somebody moved.",
                        "Do not move the dial before you have read a second thermometer."}};

const Advice kDoor = {{"Close the door", "Close it"},
                      {"Close the door or lid, and see that nothing keeps it from closing.",
                       "If somebody is at work there, let them say so: attending keeps this quiet.",
                       "Do not turn the dial up to make up for it."}};

const Advice kFan = {
    {"Check the fan", "Check fan"},
    {"Without its fan a cabinet grows hot above and cold below within minutes.",
     "Look for its plug and fuse, for down or straw in the blades, for a seized bearing.",
     "Do not reach into it while it has power.",
     "Do not trust one probe meanwhile: read one above and one below."}};

const Advice kWater = {{"Top up the water", "Add water"},
                       {"Fill it from outside if the machine allows it, with warm water.",
                        "Do not open it in lockdown longer than this takes."}};

const Advice kSignal = {{"Go and look", "Look"},
                        {"See what it is that reports itself, and whether it is so.",
                         "If it is not, look at the contact, its cable and its battery."}};

const Advice kProbe = {
    {"Check that probe", "Check probe"},
    {"Put a second thermometer beside it, then look at its plug, its cable and where it hangs.",
     "A probe that is frozen or jumps is left out as long as another one speaks.",
     "Do not move the dial on its word."}};

const Advice kAllSilent = {
    {"Check gateway and mains", "Check gateway"},
    {"Read the thermometers at the machines first: nothing is heard of any of them.",
     "One cause is likelier than many: the gateway or its power, the radio, the network, the "
     "mains.",
     "Do not take silence for a good sign."}};

bool is_warmth(Quantity quantity) {
  return quantity == Quantity::temperature || quantity == Quantity::egg;
}

const Advice& for_signal(const std::string& name) {
  if (name == "door") return kDoor;
  if (name == "fan") return kFan;
  return name == "water" ? kWater : kSignal;
}

}  // namespace

const Advice& advice_for(const AlarmView& view, MachineType machine) {
  switch (view.kind) {
    case RuleKind::above:
      return is_warmth(view.quantity) ? kHeat : kDamp;
    case RuleKind::below:
      return is_warmth(view.quantity) ? kCold : kDry;
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
    case RuleKind::rate:
    case RuleKind::trend:
      return kEarly;
    case RuleKind::signal:
      return for_signal(view.signal);
    case RuleKind::probe:
      return kProbe;
    case RuleKind::all_silent:
      return kAllSilent;
  }
  return kSilent;
}

}  // namespace clutchward
