// Who said what of a rule.
#include "rules/origin.h"

#include <algorithm>

namespace clutchward {
namespace {

struct Key {
  const char* name;  // as a configuration writes it
  bool (*said)(const RulePatch&);
};

constexpr Key kKeys[] = {
    {"kind", [](const RulePatch& p) { return p.kind.has_value(); }},
    {"quantity", [](const RulePatch& p) { return p.quantity || p.early.signal; }},
    {"limit", [](const RulePatch& p) { return p.limit.has_value(); }},
    {"offset", [](const RulePatch& p) { return p.offset.has_value(); }},
    {"deadband", [](const RulePatch& p) { return p.deadband.has_value(); }},
    {"delay", [](const RulePatch& p) { return p.delay.has_value(); }},
    {"clear_delay", [](const RulePatch& p) { return p.clear_delay.has_value(); }},
    {"latch", [](const RulePatch& p) { return p.latch.has_value(); }},
    {"snooze_max", [](const RulePatch& p) { return p.snooze_max.has_value(); }},
    {"priority", [](const RulePatch& p) { return p.priority.has_value(); }},
    {"worse_by", [](const RulePatch& p) { return p.worse_by.has_value(); }},
    {"acknowledge_holds", [](const RulePatch& p) { return p.acknowledge_holds.has_value(); }},
    {"warm_up", [](const RulePatch& p) { return p.warm_up.has_value(); }},
    {"machine", [](const RulePatch& p) { return p.machine.has_value(); }},
    {"after", [](const RulePatch& p) { return p.after.has_value(); }},
    {"missed", [](const RulePatch& p) { return p.missed.has_value(); }},
    {"high_after", [](const RulePatch& p) { return p.high_after.has_value(); }},
    {"fall", [](const RulePatch& p) { return p.fall.has_value(); }},
    {"deepest", [](const RulePatch& p) { return p.deepest.has_value(); }},
    {"longest", [](const RulePatch& p) { return p.longest.has_value(); }},
    {"rise", [](const RulePatch& p) { return p.rise.has_value(); }},
    {"average", [](const RulePatch& p) { return p.average.has_value(); }},
    {"by_third", [](const RulePatch& p) { return p.by_third.has_value(); }},
    {"window", [](const RulePatch& p) { return p.early.window.has_value(); }},
    {"ahead", [](const RulePatch& p) { return p.early.ahead.has_value(); }},
    {"towards", [](const RulePatch& p) { return p.early.towards.has_value(); }},
    {"lambda", [](const RulePatch& p) { return p.early.lambda.has_value(); }},
    {"sigmas", [](const RulePatch& p) { return p.early.sigmas.has_value(); }},
    {"at_least", [](const RulePatch& p) { return p.early.at_least.has_value(); }},
    {"learn", [](const RulePatch& p) { return p.early.learn.has_value(); }},
    {"lag", [](const RulePatch& p) { return p.early.lag.has_value(); }},
    {"confirm", [](const RulePatch& p) { return p.early.confirm.has_value(); }},
    {"bad", [](const RulePatch& p) { return p.early.bad.has_value(); }},
    {"frozen", [](const RulePatch& p) { return p.early.frozen.has_value(); }},
    {"alone", [](const RulePatch& p) { return p.early.alone.has_value(); }},
};

constexpr std::size_t kLimit = 2;
constexpr std::size_t kOffset = 3;
constexpr std::size_t kNobody = static_cast<std::size_t>(-1);

using Sayers = std::vector<std::size_t>;  // by key: the layer that said it

void say(Sayers& sayers, std::size_t layer, const RulePatch& patch) {
  for (std::size_t key = 0; key < std::size(kKeys); ++key) {
    if (!kKeys[key].said(patch)) continue;
    sayers[key] = layer;
    // A limit takes away an inherited offset, and the other way round.
    if (key == kLimit) sayers[kOffset] = kNobody;
    if (key == kOffset) sayers[kLimit] = kNobody;
  }
}

}  // namespace

std::vector<RuleOrigin> origin_of(const std::string& id, const std::vector<NamedLayer>& layers) {
  Sayers sayers(std::size(kKeys), kNobody);
  std::size_t built_in = kNobody;
  for (std::size_t i = 0; i < layers.size(); ++i)
    if (layers[i].patches == &built_in_rules()) built_in = i;
  bool there = false;
  std::vector<bool> spoke(layers.size(), false);
  for (std::size_t i = 0; i < layers.size(); ++i) {
    const auto found = layers[i].patches->find(id);
    if (found == layers[i].patches->end()) continue;
    if (found->second.off) {
      there = false;
      sayers.assign(std::size(kKeys), kNobody);
      spoke.assign(layers.size(), false);
      continue;
    }
    // Brought back after an `off`: with its built-in values.
    if (const auto base = built_in_rules().find(id);
        !there && i != built_in && built_in != kNobody && base != built_in_rules().end()) {
      say(sayers, built_in, base->second);
      spoke[built_in] = true;
    }
    there = true;
    spoke[i] = true;
    say(sayers, i, found->second);
  }
  std::vector<RuleOrigin> origins;
  for (std::size_t i = 0; i < layers.size() && there; ++i) {
    if (!spoke[i]) continue;
    RuleOrigin origin{layers[i].name, {}};
    for (std::size_t key = 0; key < std::size(kKeys); ++key)
      if (sayers[key] == i) origin.keys.emplace_back(kKeys[key].name);
    if (!origin.keys.empty()) origins.push_back(std::move(origin));
  }
  return origins;
}

}  // namespace clutchward
