// Names of kinds and priorities, and the one function that lays layers of rules over each other.
#include "rules/rule.h"

#include <set>

namespace clutchward {
namespace {

using namespace std::chrono_literals;

template <class T>
void take(std::optional<T>& into, const std::optional<T>& from) {
  if (from) into = from;
}

void lay_over(RulePatch& below, const RulePatch& above) {
  take(below.kind, above.kind);
  take(below.quantity, above.quantity);
  // A limit takes away an inherited offset, and the other way round.
  if (above.limit) below.offset.reset();
  if (above.offset) below.limit.reset();
  take(below.limit, above.limit);
  take(below.offset, above.offset);
  take(below.deadband, above.deadband);
  take(below.delay, above.delay);
  take(below.clear_delay, above.clear_delay);
  take(below.latch, above.latch);
  take(below.snooze_max, above.snooze_max);
  take(below.priority, above.priority);
  take(below.worse_by, above.worse_by);
  take(below.acknowledge_holds, above.acknowledge_holds);
  take(below.warm_up, above.warm_up);
  take(below.machine, above.machine);
  take(below.after, above.after);
  take(below.missed, above.missed);
  take(below.high_after, above.high_after);
  take(below.fall, above.fall);
  take(below.deepest, above.deepest);
  take(below.longest, above.longest);
  take(below.rise, above.rise);
  take(below.average, above.average);
  take(below.by_third, above.by_third);
  lay_over(below.early, above.early);
}

// How long an acknowledgement holds where the rule does not say (alarm-semantics, section 5).
std::optional<Span> holds_by(Priority priority) {
  switch (priority) {
    case Priority::high:
      return 30min;
    case Priority::medium:
      return 4h;
    case Priority::low:
      return std::nullopt;
  }
  return std::nullopt;
}

Quantity quantity_of(RuleKind kind) {
  if (kind == RuleKind::power) return Quantity::power;
  return kind == RuleKind::signal ? Quantity::signal : Quantity::temperature;
}

// Lower than any temperature can stand from its target.
constexpr Milli kNoLeast = -1'000'000;

bool warns_early(RuleKind kind) { return kind == RuleKind::rate || kind == RuleKind::trend; }

bool latches(RuleKind kind) {
  return kind != RuleKind::silent && kind != RuleKind::still && kind != RuleKind::probe &&
         kind != RuleKind::all_silent && kind != RuleKind::lid;
}

Rule complete(const std::string& id, const RulePatch& patch) {
  Rule rule;
  rule.id = id;
  rule.kind = *patch.kind;
  rule.early = complete(patch.early);
  // Of the contract's own: a rate counts wherever it begins.
  if (rule.kind == RuleKind::rate && !patch.early.at_least) rule.early.at_least = kNoLeast;
  rule.quantity = patch.quantity.value_or(quantity_of(rule.kind));
  rule.priority = patch.priority.value_or(warns_early(rule.kind) ? Priority::low : rule.priority);
  rule.machine = is_machine_rule(id, rule.kind, patch.machine);
  rule.latch = patch.latch.value_or(latches(rule.kind));
  rule.limit = patch.limit;
  rule.offset = patch.offset;
  rule.deadband = patch.deadband.value_or(rule.deadband);
  const bool compares = rule.kind == RuleKind::above || rule.kind == RuleKind::below;
  if (patch.worse_by)
    rule.worse_by = patch.worse_by->value;
  else if (compares && rule.quantity != Quantity::humidity)
    rule.worse_by = 1000;  // 1.0 C
  rule.delay = patch.delay.value_or(
      rule.kind == RuleKind::signal ? usage_of_signal(rule.early.signal).delay : rule.delay);
  rule.clear_delay = patch.clear_delay.value_or(rule.clear_delay);
  rule.snooze_max = patch.snooze_max.value_or(rule.snooze_max);
  rule.acknowledge_holds =
      patch.acknowledge_holds ? patch.acknowledge_holds->span : holds_by(rule.priority);
  rule.warm_up = patch.warm_up.value_or(
      rule.quantity == Quantity::humidity || rule.quantity == Quantity::wet_bulb ? Span(8h)
                                                                                 : rule.warm_up);
  rule.after = patch.after.value_or(rule.kind == RuleKind::probe ? Span(10min) : rule.after);
  rule.missed = patch.missed.value_or(rule.missed);
  rule.high_after = patch.high_after;
  rule.fall = patch.fall.value_or(rule.fall);
  if (patch.deepest) rule.deepest = patch.deepest->value;
  if (patch.longest) rule.longest = patch.longest->span;
  rule.rise = patch.rise.value_or(rule.rise);
  rule.by_third = patch.by_third;
  if (patch.average) rule.average = patch.average->span.value_or(Span{0});
  return rule;
}

// A patch of an id from the lowest layer up; none where the last word is `off`.
std::optional<RulePatch> laid(const std::string& id,
                              const std::vector<const RulePatches*>& layers) {
  std::optional<RulePatch> built_in;
  std::optional<RulePatch> result;
  if (const auto found = built_in_rules().find(id); found != built_in_rules().end())
    built_in = found->second;
  for (const RulePatches* layer : layers) {
    const auto found = layer->find(id);
    if (found == layer->end()) continue;
    if (found->second.off) {
      result.reset();
      continue;
    }
    if (!result) result = layer == &built_in_rules() ? RulePatch{} : built_in.value_or(RulePatch{});
    lay_over(*result, found->second);
  }
  return result;
}

}  // namespace

std::string_view name_of(RuleKind kind) { return kRuleKindNames[static_cast<std::size_t>(kind)]; }

std::string_view name_of(Priority priority) {
  switch (priority) {
    case Priority::low:
      return "low";
    case Priority::medium:
      return "medium";
    case Priority::high:
      return "high";
  }
  return "";
}

bool is_machine_rule(const std::string& id, RuleKind kind, std::optional<bool> machine) {
  if (kind == RuleKind::silent || kind == RuleKind::spread || kind == RuleKind::power ||
      kind == RuleKind::signal || kind == RuleKind::probe)
    return true;
  if (kind == RuleKind::turning || kind == RuleKind::still || is_site_rule(kind) ||
      is_airing_rule(kind))
    return false;
  return machine.value_or(id == "overheat");
}

void lay_over(RulePatches& below, const RulePatches& above) {
  for (const auto& [id, patch] : above) {
    RulePatch& into = below[id];
    if (patch.off || into == RulePatch{}) {
      into = patch;
      continue;
    }
    if (into.off) {
      // Brought back with its built-in values, as between layers.
      const auto built_in = built_in_rules().find(id);
      into = built_in == built_in_rules().end() ? RulePatch{} : built_in->second;
    }
    lay_over(into, patch);
  }
}

std::vector<Rule> resolve_rules(const std::vector<const RulePatches*>& layers) {
  std::set<std::string> ids;
  for (const RulePatches* layer : layers)
    for (const auto& [id, patch] : *layer) ids.insert(id);
  std::vector<Rule> rules;
  for (const std::string& id : ids)
    if (const auto patch = laid(id, layers); patch && patch->kind)
      rules.push_back(complete(id, *patch));
  return rules;
}

}  // namespace clutchward
