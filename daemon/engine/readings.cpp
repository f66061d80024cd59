// One accepted reading: what it changes. A reading that stays inside the cabinet's quiet band
// touches no alarm at all; that is nearly every reading there is.
#include "engine/readings.h"

#include <algorithm>

namespace clutchward {
namespace {

using namespace std::chrono_literals;

constexpr Span kTrendSpan = 5min;     // rising or falling: against five to ten minutes ago
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
  bool quiet = true;
  visit(cabinet, [&](BatchWatch* batch, Slot& slot) {
    quiet = quiet && !slot.life && !slot.warming && !slot.former;
    if (slot.rule->quantity != Quantity::temperature || !has_limit(*slot.rule)) return;
    if (const auto limit = limit_of(*slot.rule, batch)) narrow(cabinet, *slot.rule, *limit);
  });
  cabinet.quiet = quiet;
}

Seen& seen_for(CabinetWatch& cabinet, Quantity quantity) {
  if (quantity == Quantity::temperature) return cabinet.temperature;
  auto& seen = quantity == Quantity::humidity ? cabinet.humidity : cabinet.wet_bulb;
  if (!seen) seen = std::make_unique<Seen>();
  return *seen;
}

void follow_quantity(World& world, CabinetWatch& cabinet, Quantity quantity) {
  visit(cabinet, [&](BatchWatch* batch, Slot& slot) {
    if (slot.rule->kind == RuleKind::silent) {
      if (quantity == Quantity::temperature) follow(world, cabinet, batch, slot);
    } else if (slot.rule->quantity == quantity && has_limit(*slot.rule)) {
      follow_reading(world, cabinet, batch, slot);
    }
  });
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
  renew(seen_for(cabinet, quantity), cabinet.probes, quantity, cabinet.combine, now,
        world.silence());
  if (first) bind_machine_rules(world, cabinet);  // a second probe brings the rule of the spread
  if (quantity == Quantity::temperature) {
    follow_trend(cabinet, now);
    if (stays_quiet(cabinet)) return;
  }
  follow_quantity(world, cabinet, quantity);
  find_quiet_band(cabinet);
  reschedule(world, cabinet);
}

void power_reading(World& world, CabinetWatch& cabinet, bool on) {
  const bool first = !cabinet.power;
  if (!first && *cabinet.power == on) return;
  cabinet.power = on;
  if (!on) cabinet.power_lost_at = world.present.steady;
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
