// One accepted reading: what it changes. A reading that stays inside the cabinet's quiet band
// touches no alarm at all; that is nearly every reading there is.
#include "engine/readings.h"

#include <algorithm>

namespace clutchward {
namespace {

using namespace std::chrono_literals;

constexpr Span kTrendSpan = 5min;     // rising or falling: against five to ten minutes ago
constexpr Milli kDisagree = 1'500;    // C: the built-in limit of the spread
constexpr Milli kTrendAtLeast = 100;  // 0.1 C, what a common probe resolves

void follow_trend(CabinetWatch& cabinet, Steady now) {
  if (cabinet.trend_known && now - cabinet.recent_at < kTrendSpan) return;
  cabinet.earlier = cabinet.trend_known ? cabinet.recent : cabinet.temperature.fresh.above;
  cabinet.recent = cabinet.temperature.fresh.above;
  cabinet.recent_at = now;
  cabinet.trend_known = true;
}

bool stays_quiet(const CabinetWatch& cabinet) {
  const Seen& seen = cabinet.temperature;
  return cabinet.quiet && seen.fresh.above <= cabinet.quiet_above &&
         seen.fresh.below >= cabinet.quiet_below && seen.hottest <= cabinet.quiet_hottest &&
         seen.hottest - seen.coldest <= cabinet.quiet_spread;
}

void narrow(CabinetWatch& cabinet, const Rule& rule, Milli limit) {
  switch (rule.kind) {
    case RuleKind::below:
      cabinet.quiet_below = std::max(cabinet.quiet_below, limit);
      break;
    case RuleKind::spread:
      cabinet.quiet_spread = std::min(cabinet.quiet_spread, limit);
      break;
    default:
      if (rule.id == "overheat")
        cabinet.quiet_hottest = std::min(cabinet.quiet_hottest, limit);
      else
        cabinet.quiet_above = std::min(cabinet.quiet_above, limit);
  }
}

// The band inside which no temperature rule can turn true; only where none has anything going on.
void find_quiet_band(CabinetWatch& cabinet) {
  cabinet.quiet_above = cabinet.quiet_hottest = cabinet.quiet_spread = INT32_MAX;
  cabinet.quiet_below = INT32_MIN;
  bool quiet = !confirming(cabinet);
  visit(cabinet, [&](BatchWatch* batch, Slot& slot) {
    quiet = quiet && !slot.life && !slot.warming && !slot.former;
    if (slot.rule->quantity != Quantity::temperature || !has_limit(*slot.rule)) return;
    quiet = quiet && slot.rule->average == Span{0};  // what falls out of a mean moves it as well
    if (const auto limit = limit_of(*slot.rule, batch)) narrow(cabinet, *slot.rule, *limit);
  });
  for (const auto& batch : cabinet.batches) quiet = quiet && !airing_watched(*batch);
  cabinet.quiet = quiet;
}

Seen& seen_for(CabinetWatch& cabinet, Quantity quantity) {
  if (quantity == Quantity::temperature) return cabinet.temperature;
  Seldom& seldom = cabinet.make_seldom();
  auto& seen = quantity == Quantity::humidity   ? seldom.humidity
               : quantity == Quantity::wet_bulb ? seldom.wet_bulb
                                                : seldom.dew_point;
  if (!seen) seen = std::make_unique<Seen>();
  return *seen;
}

void follow_quantity(World& world, CabinetWatch& cabinet, std::uint32_t index) {
  const Quantity quantity = cabinet.probes[index].quantity;
  visit(cabinet, [&](BatchWatch* batch, Slot& slot) {
    if (slot.rule->kind == RuleKind::silent) {
      if (quantity == Quantity::temperature) follow(world, cabinet, batch, slot);
    } else if (slot.rule->quantity == quantity && has_limit(*slot.rule)) {
      confirm(cabinet, batch, slot, index);
      follow_reading(world, cabinet, batch, slot);
    } else if (quantity == Quantity::temperature &&
               (has_past(*slot.rule) || slot.rule->kind == RuleKind::probe)) {
      follow_reading(world, cabinet, batch, slot);
    }
  });
}

// Computes the cabinet's humidity anew where it is computed, and judges what sees it.
bool renew_humidity(World& world, CabinetWatch& cabinet, Quantity quantity) {
  if (!follow_moist_air(world, cabinet, quantity)) return false;
  if (cabinet.seldom().means) follow_means(world, cabinet, Quantity::humidity);
  visit(cabinet, [&](BatchWatch* batch, Slot& slot) {
    if (slot.rule->quantity == Quantity::humidity && has_limit(*slot.rule))
      follow_reading(world, cabinet, batch, slot);
  });
  return true;
}

// Two probes that disagree are not averaged away, whatever `combine` says, where their health is
// watched at all.
void never_averaged_away(CabinetWatch& cabinet, Steady now, Span silence) {
  const Seen& seen = cabinet.temperature;
  if (!cabinet.early->watches_probes || seen.fresh_probes != 2 ||
      seen.hottest - seen.coldest <= kDisagree)
    return;
  renew(cabinet.temperature, cabinet.probes, Quantity::temperature, Combine::worst, now, silence);
}

void end_all_silent(World& world) {
  CabinetWatch& site = world.site();
  for (Slot& slot : site.slots)
    if (slot.rule->kind == RuleKind::all_silent) follow(world, site, nullptr, slot);
  reschedule(world, site);
}

}  // namespace

void probe_reading(World& world, CabinetWatch& cabinet, std::uint32_t index, Milli value) {
  const Steady now = world.present.steady;
  Probe& probe = cabinet.probes[index];
  const bool first = !probe.heard;
  probe.value = value + probe.offset;
  probe.at = now;
  probe.heard = true;
  probe.retained = false;
  show(world, cabinet);
  if (world.keep_minutes && world.present.wall_trusted && probe.part != Part::ignore)
    gather_minute(world, cabinet, index, probe.value);
  if (probe.part != Part::air) return;

  const Quantity quantity = probe.quantity;
  const bool temperature = quantity == Quantity::temperature;
  bool stirred = cabinet.has_early && temperature && examine_probe(world, cabinet, index);
  renew(seen_for(cabinet, quantity), cabinet.probes, quantity, cabinet.combine, now,
        world.silence());
  if (first) bind_machine_rules(world, cabinet);  // a second probe brings the rule of the spread
  if (temperature) {
    follow_trend(cabinet, now);
    if (cabinet.seldom().means) follow_means(world, cabinet, quantity);
    if (cabinet.has_early) {
      never_averaged_away(cabinet, now, world.silence());
      stirred = take_in_early(world, cabinet) || stirred;
    }
    if (world.all_silent && part_of_all_silent(world, cabinet)) end_all_silent(world);
    const bool moved = cabinet.computes_humidity && renew_humidity(world, cabinet, quantity);
    if (!stirred && stays_quiet(cabinet)) {
      if (!moved) return;
      find_quiet_band(cabinet);
      reschedule(world, cabinet);
      return;
    }
    follow_airing(world, cabinet);
  }
  if (!temperature && cabinet.seldom().means) follow_means(world, cabinet, quantity);
  follow_quantity(world, cabinet, index);
  if (!temperature) renew_humidity(world, cabinet, quantity);
  find_quiet_band(cabinet);
  reschedule(world, cabinet);
}

void power_reading(World& world, CabinetWatch& cabinet, bool on) {
  const bool first = !cabinet.power;
  if (!first && *cabinet.power == on) return;
  cabinet.power = on;
  if (!on) cabinet.make_seldom().power_lost_at = world.present.steady;
  if (first)
    bind_machine_rules(world, cabinet);
  else
    for (Slot& slot : cabinet.slots)
      if (slot.rule->kind == RuleKind::power) follow(world, cabinet, nullptr, slot);
  cabinet.quiet = false;
  touch(world, cabinet);
  reschedule(world, cabinet);
}

void old_news(World& world, CabinetWatch& cabinet, std::uint32_t index, Milli value) {
  Probe& probe = cabinet.probes[index];
  if (probe.heard) return;
  probe.value = value + probe.offset;
  probe.retained = true;
  show(world, cabinet);
}

Trend trend_of(const CabinetWatch& cabinet) {
  if (!cabinet.trend_known) return Trend::unknown;
  const Milli change = cabinet.temperature.fresh.above - cabinet.earlier;
  if (change >= kTrendAtLeast) return Trend::rising;
  return change <= -kTrendAtLeast ? Trend::falling : Trend::steady;
}

}  // namespace clutchward
