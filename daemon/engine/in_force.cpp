// What watches a cabinet now: its rules with where each comes from, and how it stands in brief.
#include "engine/readings.h"
#include "engine/views.h"

namespace clutchward {
namespace {

void add_rules(const CabinetWatch& cabinet, const BatchWatch* batch, const Slots& slots,
               const std::vector<NamedLayer>& layers, std::vector<RuleInForce>& into) {
  for (const Slot& slot : slots) {
    if (slot.former) continue;
    into.push_back({batch != nullptr ? batch->id : "", *slot.rule,
                    told_limit(cabinet, batch, *slot.rule), origin_of(slot.rule->id, layers)});
  }
}

std::string profile_layer(const Profile& profile) {
  return "profile " + profile.id +
         (profile.based_on.empty() ? "" : ", based on " + profile.based_on);
}

}  // namespace

std::vector<RuleInForce> rules_in_force(const World& world, const CabinetWatch& cabinet) {
  const std::vector<NamedLayer> machine = {{"built-in", &built_in_rules()},
                                           {"configuration", &world.settings.rules}};
  std::vector<RuleInForce> rules;
  add_rules(cabinet, nullptr, cabinet.slots, machine, rules);
  for (const auto& batch : cabinet.batches) {
    if (batch->ended) continue;
    std::vector<NamedLayer> layers = machine;
    layers.push_back({profile_layer(*batch->profile), &batch->profile->rules});
    layers.push_back({"stage " + batch->present().name, &batch->present().rules});
    if (batch->still)
      layers.push_back(
          {"still air of profile " + batch->profile->id, &batch->profile->still_rules});
    if (batch->overrides) layers.push_back({"batch " + batch->id, batch->overrides.get()});
    add_rules(cabinet, batch.get(), batch->slots, layers, rules);
  }
  return rules;
}

CabinetBrief brief_of(const World& world, const CabinetWatch& cabinet) {
  CabinetBrief brief;
  brief.id = cabinet.id;
  brief.no_data = !cabinet.temperature.current(world.present.steady, world.silence());
  brief.attended = cabinet.seldom().attending != nullptr;
  if (cabinet.temperature.known) brief.last_reading = world.wall_of(cabinet.temperature.last);
  for (const auto& batch : cabinet.batches) brief.watched = brief.watched || batch->set;
  visit(const_cast<CabinetWatch&>(cabinet), [&](const BatchWatch* batch, const Slot& slot) {
    const AlarmState state = shown_state(slot.life.get(), slot.suppressed);
    if (state == AlarmState::normal) return;
    AlarmBrief alarm;
    alarm.state = state;
    alarm.priority = priority_now(world, cabinet, batch, slot);
    alarm.awaits_news =
        state == AlarmState::suppressed && awaits_news_only(reasons(world, cabinet, batch, slot));
    if (const Life* life = slot.life.get()) {
      alarm.snoozed = life->snoozed_until != kNever;
      if (life->open && life->raised_at != kNever)
        alarm.since = world.wall_of(life->raised_at);
      else if ((life->condition || life->active) && life->true_since != kNever)
        alarm.since = world.wall_of(life->true_since);
    }
    brief.alarms.push_back(alarm);
  });
  return brief;
}

}  // namespace clutchward
