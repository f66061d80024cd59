// Cold spells: computed from the air, worded with care.
#include "incubation/cold_spell.h"

#include <algorithm>

#include "incubation/figure.h"

namespace clutchward {
namespace {

double days_of(Span span) { return std::chrono::duration<double, std::ratio<86400>>(span).count(); }

std::string hours_text(double hours) {
  if (hours < 1) return figure(hours * 60, 0) + " min";
  return figure(hours, 1) + " h";
}

// Two thirds of the period: from there the eggs make heat and need air (common practice).
bool last_third(const ColdSpell& spell) { return spell.third == DeathClass::late; }

// Where a machine with a fan stands still, the sources seen differ: Penn State Extension ("In case
// of power outage") keeps the warmth in, an extension booklet (4-H) opens at once for fresh air.
// Both are told; which danger is the nearer one decides by stage (most of it from memory:
// incubation facts, 2.5), and heat and want of air kill sooner than cold.
std::string what_to_do(const ColdSpell& spell, Machine machine) {
  const bool forced = machine == Machine::forced_air;
  const std::string differ =
      "Sources differ for a machine whose fan stands still: an extension booklet (4-H) opens it at "
      "once for fresh air, Penn State Extension covers it to keep the warmth. ";
  if (!last_third(spell))
    return "While the power is away: keep the machine shut and cover it, its openings left free, "
           "and keep the room warm (24 °C or more). Eggs of this age make little heat of their "
           "own and need little air." +
           (forced ? " " + differ + "At this age cold is the nearer danger." : std::string());
  if (!forced)
    return "While the power is away: eggs in the last third need air and make heat of their own. "
           "Keep the vents open, open no further, and keep the room warm (24 °C or more).";
  return "While the power is away: eggs in the last third need air and make heat of their own. " +
         differ +
         "At this age want of air and their own heat are the nearer danger: open it a little at "
         "once to let fresh air in, watch that it gets no warmer than it should be, and keep the "
         "room warm (24 °C or more).";
}

}  // namespace

const std::vector<ColdTrial>& cold_trials() {
  static const std::vector<ColdTrial> kTrials = {
      {17, 21.2, 24, "no significant loss up to 24 h",
       "cold stress of 17-day embryos, two-year trial (Canadian Science Publishing, abstract)"},
      {17, 11.3, 4, "significant loss from 4 to 24 h", "same trial; 5.2 °C as well"},
      {17, 3.8, 4, "no significant loss after 4 h; significant after 5 h and 8 h",
       "low-temperature stress at 17 days (abstract)"},
  };
  return kTrials;
}

Result<ColdSpell> cold_spell(const std::vector<TemperatureSample>& air, double day,
                             double incubation_days, double time_constant_min,
                             std::optional<double> egg_c) {
  if (air.size() < 2)
    return Refusal{"samples: " + std::to_string(air.size()) + " found, 2 or more expected"};
  if (auto bad = out_of_range("day", day, 0, 90, "days")) return *bad;
  const auto third = death_class(day, incubation_days);
  if (!third) return Refusal{third.why()};
  const double start = egg_c.value_or(air.front().celsius);
  const auto eggs = egg_temperatures(air, time_constant_min, start);
  if (!eggs) return Refusal{eggs.why()};
  std::vector<TemperatureSample> egg;
  ColdSpell spell;
  for (std::size_t i = 0; i < air.size(); ++i) {
    egg.push_back({air[i].at, (*eggs)[i].celsius});
    spell.coldest_air_c = std::min(spell.coldest_air_c.value_or(air[i].celsius), air[i].celsius);
    spell.coldest_egg_c = std::min(spell.coldest_egg_c.value_or(egg[i].celsius), egg[i].celsius);
    if (i > 0 && air[i].at - air[i - 1].at > kLongestGap)
      spell.unknown_hours += days_of(air[i].at - air[i - 1].at) * 24;
  }
  const auto below = [&](double level) { return heat_dose(egg, Beyond::below, level)->hours; };
  spell.day = day;
  spell.third = *third;
  spell.egg_hours_below_slowed = below(kSlowedC);
  spell.egg_hours_below_chilled = below(kChilledC);
  spell.egg_hours_below_cold = below(kColdC);
  // Hours without a reading may all have been cold: the late end holds them.
  const auto shift = outage_shift(spell.egg_hours_below_slowed + spell.unknown_hours);
  if (!shift) return Refusal{shift.why()};
  spell.shift = *shift;
  const double end = day + days_of(air.back().at - air.front().at);
  spell.candle_from_day = end + 4;
  spell.candle_to_day = end + 6;
  return spell;
}

std::vector<std::string> cold_spell_advice(const ColdSpell& spell, Machine machine) {
  std::vector<std::string> lines;
  lines.push_back("On day " + figure(spell.day, 1) + " the air fell to " +
                  figure(*spell.coldest_air_c, 1) + " °C; the eggs themselves to about " +
                  figure(*spell.coldest_egg_c, 1) +
                  " °C (an estimate). They were below 35 °C for about " +
                  hours_text(spell.egg_hours_below_slowed) + ".");
  if (spell.unknown_hours > 0)
    lines.push_back("For " + hours_text(spell.unknown_hours) +
                    " no reading came: it may have been colder.");
  lines.push_back("The hatch may be late by 0 to " + hours_text(spell.shift.latest_hours) +
                  "; nobody can say more exactly.");
  std::string trials = "Published trials, all on hens' eggs at day 17: ";
  for (const ColdTrial& trial : cold_trials())
    trials += figure(trial.air_c, 1) + " °C, " + trial.outcome + "; ";
  lines.push_back(trials + "for other ages and birds no figures were seen.");
  if (spell.egg_hours_below_chilled > 0)
    lines.push_back(
        "Some eggs survive below 32 °C for up to 18 h, and 21 °C for a short time "
        "(Penn State Extension): do not give up.");
  lines.push_back(what_to_do(spell, machine));
  lines.push_back(
      "Never heat with candles or open flames. A generator stands outdoors, away from "
      "doors, windows and vents: its carbon monoxide kills. Never turn the dial up to "
      "make up for lost time.");
  lines.push_back("Go on incubating, and candle on day " + figure(spell.candle_from_day, 0) +
                  " to " + figure(spell.candle_to_day, 0) +
                  ": give up only what has not advanced (Penn State Extension).");
  return lines;
}

}  // namespace clutchward
