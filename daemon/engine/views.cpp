// Cabinets and alarms as they stand now, in plain values.
#include "engine/views.h"

#include <algorithm>
#include <cmath>

#include "engine/readings.h"
#include "engine/wording.h"

namespace clutchward {
namespace {

std::optional<Wall> wall_if(const World& world, Steady time) {
  return time == kNever ? std::nullopt : std::optional(world.wall_of(time));
}

void fill_life(const World& world, const Slot& slot, const Life& life, AlarmView& view) {
  view.active = life.active;
  view.acknowledged = life.acknowledged;
  view.latched = life.latched;
  view.snoozed_until = wall_if(world, life.snoozed_until);
  view.snoozed_by = life.snoozed_by;
  view.acknowledged_by = life.acknowledged_by;
  if (life.acknowledged) view.acknowledged_at = wall_if(world, life.acknowledged_at);
  if (life.open) view.raised_at = wall_if(world, life.raised_at);
  if (life.condition || life.active) view.since = wall_if(world, life.true_since);
  if (life.open && !life.active) view.returned_at = wall_if(world, life.returned_at);
  if (life.active)
    view.rings_again_at = wall_if(world, life.snoozed() ? life.snoozed_until : life.holds_until);
  view.worst = life.active || life.open ? life.worst : life.pending_worst;
  if (life.open) view.episode = slot.rule->id + "-" + std::to_string(life.episode);
  if (!life.out_of_service) return;
  view.out_of_service_by = life.out_of_service->by;
  view.out_of_service_why = life.out_of_service->why;
  view.out_of_service_until = wall_if(world, life.out_of_service->until);
}

BatchView batch_view(const World& world, const CabinetWatch& cabinet, const BatchWatch& batch) {
  BatchView view;
  view.id = batch.id;
  view.profile = batch.profile->id;
  view.name = batch.profile->name;
  view.set_at = batch.set_at;
  view.set = batch.set;
  view.day = day_of(world, batch);
  view.days = batch.profile->days;
  view.stage = batch.present().name;
  view.target = batch.target();
  view.eggs = batch.eggs;
  view.turning_due = batch.turning_due;
  view.cooling = cooling_now(world, cabinet, &batch);
  const BatchRecord record = record_of(world, cabinet, batch);
  view.phase = phase_of(*batch.profile, record, world.present.wall);
  view.eggs_left = eggs_left(batch);
  view.next = next_date(*batch.profile, record, world.present.wall);
  return view;
}

std::string name_of_cabinet(const CabinetWatch& cabinet) {
  return cabinet.settings != nullptr && !cabinet.settings->name.empty() ? cabinet.settings->name
                                                                        : cabinet.id;
}

bool measures_one(const Rule& rule) {
  return rule.kind != RuleKind::signal && rule.kind != RuleKind::probe &&
         rule.kind != RuleKind::all_silent;
}

// What a kind without a number has to say.
std::string words_of(const World& world, const CabinetWatch& cabinet, const Rule& rule) {
  if (rule.kind == RuleKind::probe) return probe_faults(world, cabinet);
  if (rule.kind == RuleKind::all_silent) return all_silent_words(world, rule);
  if (rule.kind == RuleKind::signal) return rule.early.signal + (rule.early.bad ? " on" : " off");
  return {};
}

void fill_early(const World& world, const CabinetWatch& cabinet, const BatchWatch* batch,
                const Slot& slot, AlarmView& view) {
  const Rule& rule = *slot.rule;
  view.downwards = drifts_down(cabinet, batch, rule);
  view.signal = rule.early.signal;
  if (!slot.life) return;
  if (!measures_one(rule) && slot.life->condition) view.says = words_of(world, cabinet, rule);
  if (rule.kind == RuleKind::silent && part_of_all_silent(world, cabinet))
    view.part_of = "all_silent";
  if (!slot.life->condition) return;
  if (const auto ahead = outlook(world, cabinet, batch, rule)) {
    view.harm = ahead->limit;
    view.harm_at = world.wall_of(ahead->at);
    if (ahead->earliest) view.harm_from = world.wall_of(*ahead->earliest);
    if (ahead->latest) view.harm_until = world.wall_of(*ahead->latest);
  }
}

}  // namespace

// Mains lost for long is worse than mains lost (section 7).
Priority priority_now(const World& world, const CabinetWatch& cabinet, const BatchWatch* batch,
                      const Slot& slot) {
  const Rule& rule = *slot.rule;
  if (rule.by_third && batch != nullptr && batch->set && batch->profile->days > 0) {
    const double third = day_of(world, *batch) / batch->profile->days * 3;
    return (*rule.by_third)[static_cast<std::size_t>(std::clamp(third, 0.0, 2.0))];
  }
  if (rule.kind == RuleKind::power && rule.high_after && cabinet.power && !*cabinet.power &&
      world.present.steady - cabinet.seldom().power_lost_at >= *rule.high_after)
    return Priority::high;
  return rule.priority;
}

std::string evidence_of(const World& world, const CabinetWatch& cabinet, const BatchWatch* batch,
                        const Rule& rule) {
  if (is_airing_rule(rule.kind) && batch != nullptr)
    return airing_evidence(world, cabinet, *batch, rule);
  if (!measures_one(rule)) return words_of(world, cabinet, rule);
  const auto value = value_of(world, cabinet, batch, rule);
  const auto limit = told_limit(cabinet, batch, rule);
  if (!value || !limit) return {};
  const Show show = world.settings.show;
  if (rule.kind == RuleKind::spread)
    return "the probes stand " + difference_text(*value, rule.quantity, show) + " apart, limit " +
           difference_text(*limit, rule.quantity, show);
  const bool below = drifts_down(cabinet, batch, rule);
  const std::string seen = quantity_text(*value, rule.quantity, show);
  if (below ? *value < *limit : *value > *limit)
    return seen + " is " + (below ? "below " : "above ") +
           quantity_text(*limit, rule.quantity, show);
  const Milli edge = below ? *limit + rule.deadband : *limit - rule.deadband;
  return seen + " is not yet " + (below ? "up to " : "down to ") +
         quantity_text(edge, rule.quantity, show);
}

AlarmView view_of(const World& world, const CabinetWatch& cabinet, const BatchWatch* batch,
                  const Slot& slot) {
  AlarmView view;
  view.key = {cabinet.id, batch != nullptr ? batch->id : "", slot.rule->id};
  view.cabinet_name = cabinet.id.empty() ? world.settings.site : name_of_cabinet(cabinet);
  if (batch != nullptr) {
    view.batch_name = batch->profile->name;
    if (batch->set) view.day = day_of(world, *batch);
    view.stage = batch->present().name;
    view.target = batch->target();
  }
  view.kind = slot.rule->kind;
  view.quantity = slot.rule->quantity;
  view.priority = priority_now(world, cabinet, batch, slot);
  if (slot.rule->high_after && view.priority != Priority::high && cabinet.power && !*cabinet.power)
    view.turns_high_at = world.wall_of(cabinet.seldom().power_lost_at + *slot.rule->high_after);
  view.state = shown_state(slot.life.get(), slot.suppressed);
  view.suppressed_for = reasons(world, cabinet, batch, slot);
  view.attending =
      std::count(view.suppressed_for.begin(), view.suppressed_for.end(), "attending") > 0;
  view.value = value_of(world, cabinet, batch, *slot.rule);
  view.limit = told_limit(cabinet, batch, *slot.rule);
  fill_early(world, cabinet, batch, slot, view);
  view.trend = trend_of(cabinet);
  view.acknowledge_holds = slot.rule->acknowledge_holds;
  view.snooze_max = slot.rule->snooze_max;
  view.no_data =
      !cabinet.id.empty() && !cabinet.temperature.current(world.present.steady, world.silence());
  if (slot.life) fill_life(world, slot, *slot.life, view);
  return view;
}

CabinetView view_of(const World& world, const CabinetWatch& cabinet) {
  const Steady now = world.present.steady;
  CabinetView view;
  view.id = cabinet.id;
  view.name = name_of_cabinet(cabinet);
  if (const auto guide = world.settings.guides.find(cabinet.id);
      guide != world.settings.guides.end()) {
    view.where = guide->second.where;
    view.first_aid = guide->second.first_aid;
  }
  const Seen& seen = cabinet.temperature;
  view.no_data = !seen.current(now, world.silence());
  if (seen.known) {
    view.hottest = seen.hottest;
    view.coldest = seen.coldest;
    if (seen.fresh.above == seen.fresh.below) view.temperature = seen.fresh.above;
    view.last_reading = world.wall_of(seen.last);
  }
  if (cabinet.seldom().humidity && cabinet.seldom().humidity->known)
    view.humidity = cabinet.seldom().humidity->fresh.above;
  if (const auto air = moist_air(world, cabinet)) {
    view.wet_bulb = static_cast<Milli>(std::lround(air->wet_bulb_c * 100) * 10);
    if (air->dew_point_c)
      view.dew_point = static_cast<Milli>(std::lround(*air->dew_point_c * 100) * 10);
  }
  view.trend = trend_of(cabinet);
  if (cabinet.last_turn) view.last_turn = world.wall_of(*cabinet.last_turn);
  view.power = cabinet.power;
  view.cooling = cooling_now(world, cabinet, nullptr);
  if (cabinet.seldom().attending) {
    view.attending_until = world.wall_of(cabinet.seldom().attending->until);
    view.attending_by = cabinet.seldom().attending->by;
  }
  for (const Probe& probe : cabinet.probes) {
    if (!probe.heard && !probe.retained) continue;
    ProbeView each{world.names[probe.name], probe.quantity, probe.part, probe.value, {}, false};
    if (!probe.retained) each.at = world.wall_of(probe.at);
    each.fresh = probe.heard && now - probe.at < world.silence();
    each.left_out = probe.left_out;
    each.fault = probe_fault_word(cabinet, probe);
    view.probes.push_back(std::move(each));
  }
  for (const auto& batch : cabinet.batches)
    if (!batch->ended) view.batches.push_back(batch_view(world, cabinet, *batch));
  visit(const_cast<CabinetWatch&>(cabinet), [&](BatchWatch* batch, Slot& slot) {
    view.alarms.push_back(view_of(world, cabinet, batch, slot));
  });
  return view;
}

}  // namespace clutchward
