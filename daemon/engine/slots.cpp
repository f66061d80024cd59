// One rule on one cabinet or batch: what it sees, whether its condition holds, and what becomes of
// its alarm after each change.
#include <algorithm>

#include "base/check.h"
#include "engine/wording.h"
#include "engine/world.h"

namespace clutchward {
namespace {

bool compares(const Rule& rule) {
  return rule.kind == RuleKind::above || rule.kind == RuleKind::below ||
         rule.kind == RuleKind::spread;
}

std::optional<bool> judge_value(const World& world, const CabinetWatch& cabinet,
                                const BatchWatch* batch, const Slot& slot) {
  const Rule& rule = *slot.rule;
  if (rule.quantity == Quantity::egg) return judge_past(world, cabinet, batch, slot);
  const Seen* seen = seen_of(cabinet, rule.quantity);
  if (seen == nullptr || !seen->current(world.present.steady, world.silence())) return std::nullopt;
  const bool holds = slot.life && slot.life->condition;
  const std::optional<Milli> limit = limit_of(rule, batch);
  if (!limit) return std::nullopt;
  if (rule.average > Span{0}) {
    const auto mean = mean_of(cabinet, rule);
    if (!mean) return std::nullopt;
    return beyond(rule, holds, *limit, *mean, *mean);
  }
  if (rule.kind == RuleKind::spread) {
    // One probe has no spread; the other having fallen silent clears nothing.
    if (seen->fresh_probes < 2) return std::nullopt;
    const Milli spread = seen->hottest - seen->coldest;
    return beyond(rule, holds, *limit, spread, spread);
  }
  if (rule.id == "overheat")
    return beyond(rule, holds, *limit, seen->hottest, seen->hottest_with_silent);
  if (rule.kind == RuleKind::above)
    return beyond(rule, holds, *limit, seen->fresh.above, seen->with_silent.above);
  return beyond(rule, holds, *limit, seen->fresh.below, seen->with_silent.below);
}

// The condition as it stands now; none keeps it as it is.
std::optional<bool> judge(World& world, const CabinetWatch& cabinet, const BatchWatch* batch,
                          const Slot& slot) {
  const Rule& rule = *slot.rule;
  const Steady now = world.present.steady;
  switch (rule.kind) {
    case RuleKind::above:
    case RuleKind::below:
    case RuleKind::spread:
      return judge_value(world, cabinet, batch, slot);
    case RuleKind::silent:
      return now - silence_base(cabinet) >= rule.after;
    case RuleKind::turning:
      return now >= turning_deadline(world, cabinet, *batch, rule.missed);
    case RuleKind::still:  // begun by a turn alone (turned())
      return slot.life && slot.life->condition && !turns_wanted(cabinet) &&
             now < slot.life->condition_ends;
    case RuleKind::power:
      return cabinet.power ? std::optional(!*cabinet.power) : std::nullopt;
    case RuleKind::cooling:
    case RuleKind::lid:
      return judge_airing(world, *batch, rule);
    case RuleKind::broker:
      return !world.linked && now - world.link_changed_at >= rule.after;
    case RuleKind::rate:
    case RuleKind::trend:
      return judge_past(world, cabinet, batch, slot);
    case RuleKind::signal:
      return judge_signal(cabinet, rule);
    case RuleKind::probe:
      return any_probe_at_fault(cabinet);
    case RuleKind::all_silent:
      return judge_all_silent(world, rule);
  }
  return std::nullopt;
}

}  // namespace

bool beyond(const Rule& rule, bool holds, Milli limit, Milli fresh, Milli with_silent) {
  if (rule.kind == RuleKind::below) {
    if (!holds) return fresh < limit;
    return std::min(fresh, with_silent) < limit + rule.deadband;
  }
  if (!holds) return fresh > limit;
  return std::max(fresh, with_silent) > limit - rule.deadband;
}

Life& life_of(Slot& slot) {
  if (!slot.life) slot.life = std::make_unique<Life>();
  return *slot.life;
}

void tidy(Slot& slot) {
  if (slot.life && slot.life->normal()) slot.life.reset();
}

bool has_limit(const Rule& rule) { return compares(rule); }

std::optional<Milli> limit_of(const Rule& rule, const BatchWatch* batch) {
  if (!compares(rule)) return std::nullopt;
  if (rule.limit) return rule.limit;
  if (!rule.offset || batch == nullptr) return std::nullopt;
  if (is_band_rule(rule)) {
    const auto& band = batch->present().humidity;
    if (!band) return std::nullopt;
    return rule.kind == RuleKind::below ? band->from - *rule.offset : band->to + *rule.offset;
  }
  const Milli target = batch->target();
  return rule.kind == RuleKind::below ? target - *rule.offset : target + *rule.offset;
}

std::optional<Milli> told_limit(const CabinetWatch& cabinet, const BatchWatch* batch,
                                const Rule& rule) {
  if (rule.kind == RuleKind::rate || rule.kind == RuleKind::trend)
    return past_limit(cabinet, batch, rule);
  return limit_of(rule, batch);
}

std::optional<Milli> value_of(const World& world, const CabinetWatch& cabinet,
                              const BatchWatch* batch, const Rule& rule) {
  if (has_past(rule)) return past_value(world, cabinet, batch, rule);
  if (!compares(rule)) return std::nullopt;
  if (rule.average > Span{0}) return mean_of(cabinet, rule);
  const Seen* seen = seen_of(cabinet, rule.quantity);
  if (seen == nullptr || !seen->known) return std::nullopt;
  if (rule.kind == RuleKind::spread) return seen->hottest - seen->coldest;
  if (rule.id == "overheat") return seen->hottest;
  return rule.kind == RuleKind::above ? seen->fresh.above : seen->fresh.below;
}

LifeContext context_of(World& world, const CabinetWatch& cabinet, const BatchWatch* batch,
                       const Slot& slot, std::string by) {
  LifeContext context{.rule = *slot.rule, .now = world.present};
  context.value = value_of(world, cabinet, batch, *slot.rule);
  context.by = std::move(by);
  context.evidence = evidence_of(world, cabinet, batch, *slot.rule);
  return context;
}

void emit(World& world, CabinetWatch& cabinet, const BatchWatch* batch, const Slot& slot,
          std::optional<EventKind> kind, const std::string& by) {
  touch(world, cabinet);
  if (!kind) return;
  AlarmEvent event;
  event.at = world.present.wall;
  event.key = {cabinet.id, batch != nullptr ? batch->id : std::string(), slot.rule->id};
  event.kind = *kind;
  event.value = value_of(world, cabinet, batch, *slot.rule);
  event.limit = told_limit(cabinet, batch, *slot.rule);
  if (slot.life) event.worst = slot.life->worst;
  if (batch != nullptr && is_airing_rule(slot.rule->kind)) {
    const AiringFigures told = airing_figures(world, cabinet, *batch, *slot.rule);
    event.value = told.value;
    event.limit = told.limit;
    event.unit = told.unit;
  }
  if (!by.empty()) event.by = by;
  world.events.push_back(std::move(event));
}

void follow_limit_held(World& world, const CabinetWatch& cabinet, const BatchWatch* batch,
                       Slot& slot) {
  if (!slot.warming || slot.rule->kind != RuleKind::below ||
      slot.rule->quantity != Quantity::temperature ||
      !cabinet.temperature.current(world.present.steady, world.silence()))
    return;
  const auto limit = limit_of(*slot.rule, batch);
  const bool held = limit && cabinet.temperature.fresh.below >= *limit;
  if (held && !slot.limit_held) slot.hold_limit_since(world.present.steady);
  slot.limit_held = held;
}

void follow(World& world, CabinetWatch& cabinet, BatchWatch* batch, Slot& slot) {
  if (slot.former || (slot.life && slot.life->out_of_service)) return;
  const auto condition = judge(world, cabinet, batch, slot);
  if (!condition || *condition == (slot.life && slot.life->condition)) return;
  if (*condition) {
    if (!confirmed(cabinet, batch, *slot.rule)) return;
    // While suppressed, the condition of an alarm that is not active cannot turn true.
    if (slot.suppressed && !(slot.life && slot.life->active)) return;
    const auto context = context_of(world, cabinet, batch, slot);
    emit(world, cabinet, batch, slot, condition_true(life_of(slot), context));
  } else {
    const auto context = context_of(world, cabinet, batch, slot);
    emit(world, cabinet, batch, slot, condition_false(life_of(slot), context));
    tidy(slot);
  }
}

void follow_reading(World& world, CabinetWatch& cabinet, BatchWatch* batch, Slot& slot) {
  follow_limit_held(world, cabinet, batch, slot);
  follow(world, cabinet, batch, slot);
  if (!slot.life || slot.former) return;
  Life& life = *slot.life;
  if (life.awaiting_value && !life.condition) {
    const auto context = context_of(world, cabinet, batch, slot);
    emit(world, cabinet, batch, slot, *apply(LifeInput::off_delay_ends, life, context));
    tidy(slot);
    return;
  }
  const auto value = value_of(world, cabinet, batch, *slot.rule);
  if (!value || !(life.condition || life.active)) return;
  follow_worst(life, drifts_down(cabinet, batch, *slot.rule), *value);
  if (life.active && life.condition && !slot.suppressed && is_worse(life, *slot.rule, *value)) {
    const auto context = context_of(world, cabinet, batch, slot);
    emit(world, cabinet, batch, slot, *apply(LifeInput::worse, life, context));
  }
}

namespace {

// The slot of a rule that is no longer there: ended now, kept only where a person must still
// answer.
void take_rule_out(World& world, CabinetWatch& cabinet, BatchWatch* batch, Slot& slot) {
  if (slot.former) return;
  if (slot.life) {
    const auto context = context_of(world, cabinet, batch, slot);
    emit(world, cabinet, batch, slot, take_out(*slot.life, context));
    tidy(slot);
  }
  slot.former = true;
  slot.warming = slot.suppressed = slot.broker_hold = false;
}

void adopt(std::forward_list<Rule>& formers, Slot& slot) {
  for (const Rule& rule : formers)
    if (&rule == slot.rule) return;
  slot.rule = &formers.emplace_front(*slot.rule);
}

bool runs_on(const Slot& slot) {
  return slot.life->due != kNever && slot.rule->delay > Span{0} &&
         slot.life->due == slot.life->condition_from + slot.rule->delay;
}

bool stands(const CabinetWatch& cabinet, const Rule& rule) {
  if (rule.kind == RuleKind::power) return cabinet.power.has_value();
  if (rule.kind == RuleKind::signal)
    return cabinet.early && cabinet.early->signal(rule.early.signal) != nullptr;
  if (rule.kind != RuleKind::spread) return true;
  int probes = 0;
  for (const Probe& probe : cabinet.probes)
    probes += probe.heard && probe.part == Part::air && probe.quantity == rule.quantity ? 1 : 0;
  return probes >= 2;
}

}  // namespace

void bind_rules(World& world, CabinetWatch& cabinet, BatchWatch* batch, const RuleSet& set) {
  Slots& slots = batch != nullptr ? batch->slots : cabinet.slots;
  auto& formers = batch != nullptr ? batch->former_rules : cabinet.former_rules;
  Slots old = std::move(slots);
  std::vector<Slot> merged;
  merged.reserve(set.rules.size() + old.size());
  std::vector<bool> doomed;
  const auto keep = [&](Slot slot, bool is_doomed) {
    merged.push_back(std::move(slot));
    doomed.push_back(is_doomed);
  };
  // Both are sorted by id: one walk merges them.
  auto next = old.begin();
  for (const Rule& rule : set.rules) {
    if (!stands(cabinet, rule)) continue;
    while (next != old.end() && next->rule->id < rule.id) keep(std::move(*next++), true);
    Slot slot;
    if (next != old.end() && next->rule->id == rule.id) slot = std::move(*next++);
    const bool is_new = slot.rule == nullptr || slot.former;
    if (rule.average > Span{0}) want_mean(cabinet, rule);
    slot.rule = &rule;
    slot.former = false;
    if (is_new && batch != nullptr)
      slot.warming = warms_up(rule) && world.present.steady < batch->set_steady + rule.warm_up;
    keep(std::move(slot), false);
  }
  while (next != old.end()) keep(std::move(*next++), true);
  slots = Slots(std::move_iterator(merged.begin()), std::move_iterator(merged.end()));

  // One input visits the alarms in their order: each is taken out, or judged by its new rule.
  for (std::size_t i = 0; i < slots.size(); ++i) {
    Slot& slot = slots[i];
    if (doomed[i]) {
      take_rule_out(world, cabinet, batch, slot);
      if (slot.life) adopt(formers, slot);
      continue;
    }
    const bool was_suppressed = slot.suppressed;
    slot.suppressed = !reasons(world, cabinet, batch, slot).empty();
    if (slot.suppressed && !was_suppressed && slot.life) hold(*slot.life, world.present.steady);
    follow_limit_held(world, cabinet, batch, slot);
    // Judged first: by the new limit there may be nothing left to raise.
    follow(world, cabinet, batch, slot);
    if (!slot.life) continue;
    const auto context = context_of(world, cabinet, batch, slot);
    const bool goes_on = was_suppressed && !slot.suppressed && slot.life->held;
    // A delay that stays as it was and ends now waits for what else is stamped now.
    if (!goes_on && runs_on(slot)) continue;
    emit(world, cabinet, batch, slot,
         goes_on ? go_on(*slot.life, context) : delay_changed(*slot.life, context));
  }
  drop_closed_formers(cabinet, batch);
  renew_tracks(cabinet);
  cabinet.quiet = false;
}

void bind_machine_rules(World& world, CabinetWatch& cabinet) {
  bind_rules(world, cabinet, nullptr,
             cabinet.id.empty() ? world.book->site() : world.book->machine());
}

void drop_closed_formers(CabinetWatch& cabinet, BatchWatch* batch) {
  Slots& slots = batch != nullptr ? batch->slots : cabinet.slots;
  auto& formers = batch != nullptr ? batch->former_rules : cabinet.former_rules;
  std::erase_if(slots, [](const Slot& slot) { return slot.former && !slot.life; });
  formers.remove_if([&](const Rule& rule) {
    return std::none_of(slots.begin(), slots.end(),
                        [&](const Slot& slot) { return slot.rule == &rule; });
  });
}

}  // namespace clutchward
