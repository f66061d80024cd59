// Reads the rules of one layer and checks that each may stand in it.
#include "config/rule_reader.h"

#include <algorithm>
#include <optional>
#include <utility>

#include "base/limits.h"
#include "config/patch_reader.h"
#include "config/values.h"

namespace clutchward {

namespace {

std::string layer_name(Layer layer) {
  switch (layer) {
    case Layer::profile:
      return "a profile";
    case Layer::stage:
      return "a stage";
    case Layer::batch:
      return "a batch";
    default:
      return "the site";
  }
}

Below lay_below(const std::string& id, const LayersBelow& layers) {
  Below below;
  const auto built_in = built_in_rules().find(id);
  const auto start_again = [&] {
    below = Below{};
    if (built_in != built_in_rules().end()) below.lay(built_in->second);
    below.known = built_in != built_in_rules().end();
  };
  start_again();
  for (const RulePatches* layer : layers) {
    const auto found = layer->find(id);
    if (found == layer->end()) continue;
    // A rule that was turned off comes back with its built-in values.
    if (found->second.off) {
      start_again();
    } else {
      below.lay(found->second);
    }
    below.known = true;
  }
  return below;
}

// The first of the lists that knows the rule's kind, else the first that knows the rule at all.
Below lay_below(const std::string& id, const std::vector<LayersBelow>& lists) {
  Below best = lay_below(id, LayersBelow{});
  for (const LayersBelow& layers : lists) {
    const Below below = lay_below(id, layers);
    if (below.kind) return below;
    if (below.known) best = below;
  }
  return best;
}

std::vector<std::string> known_ids(const std::vector<LayersBelow>& lists) {
  std::vector<std::string> ids;
  for (const auto& [id, patch] : built_in_rules()) ids.push_back(id);
  for (const LayersBelow& layers : lists) {
    for (const RulePatches* layer : layers) {
      for (const auto& [id, patch] : *layer) ids.push_back(id);
    }
  }
  return ids;
}

// A rule of the machine or the site may stand in the site's rules only, has no target, and cannot
// be told to be something else.
void check_place(const std::string& id, const Section& section, const RulePatch& patch,
                 RuleKind kind, const Below& below, Layer layer) {
  Below now = below;
  now.lay(patch);
  const bool machine = is_machine_rule(id, kind, now.machine);
  const std::string& path = section.field().path;
  Faults& faults = section.field().faults;
  if (patch.machine == false && is_machine_rule(id, kind, std::nullopt)) {
    faults.add(section.place("machine"),
               path +
                   ".machine is \"false\", but this rule belongs to the machine whatever is "
                   "said; expected true or nothing");
    return;
  }
  if (layer != Layer::site && (machine || is_site_rule(kind))) {
    faults.add(section.field().node.place, path + " belongs to the " +
                                               (machine ? "machine" : "site") +
                                               " and cannot stand in " + layer_name(layer) +
                                               "; expected it in the site's rules");
    return;
  }
  if (machine && now.offset) {
    faults.add(section.place(patch.offset ? "offset" : "machine"),
               path +
                   " belongs to the machine, which has no target; expected limit in place of "
                   "offset");
    return;
  }
}

// `off` in a rule's place.
std::optional<RulePatch> read_off(const std::string& id, const Field& field, const Below& below,
                                  Layer layer,
                                  const std::function<std::vector<std::string>()>& known) {
  if (!below.known) {
    field.refuse(field.path + " is off, but no layer below has such a rule" +
                 field.faults.did_you_mean(id, known()));
    return std::nullopt;
  }
  if (layer != Layer::site && below.kind &&
      (is_machine_rule(id, *below.kind, below.machine) || is_site_rule(*below.kind))) {
    field.refuse(field.path + " belongs to the " +
                 (is_site_rule(*below.kind) ? "site" : "machine") + " and cannot stand in " +
                 layer_name(layer) + "; expected it in the site's rules");
    return std::nullopt;
  }
  RulePatch patch;
  patch.off = true;
  return patch;
}

bool is_hot(const Rule& rule, Quantity quantity) {
  return rule.kind == RuleKind::above && rule.quantity == quantity && !rule.machine;
}

// The estimate of the eggs lags behind the air and is no measurement: it may stand beside a rule
// for the air, never instead of one.
void refuse_eggs_alone(const Field& field, const RulePatches& rules,
                       const std::vector<LayersBelow>& below) {
  for (const LayersBelow& lower : below) {
    std::vector<const RulePatches*> layers = {&built_in_rules()};
    layers.insert(layers.end(), lower.begin(), lower.end());
    layers.push_back(&rules);
    const auto all = resolve_rules(layers);
    const auto any = [&](Quantity quantity) {
      return std::any_of(all.begin(), all.end(),
                         [&](const Rule& rule) { return is_hot(rule, quantity); });
    };
    if (!any(Quantity::egg) || any(Quantity::temperature)) continue;
    field.refuse(field.path +
                 " leaves the estimated egg temperature as the only rule against heat; expected a "
                 "rule of kind above on temperature beside it");
    return;
  }
}

// An airing is judged once a batch, by the first rule of the kind.
void warn_of_second_airing_rule(const Field& field, const RulePatches& rules,
                                const std::vector<LayersBelow>& below) {
  for (const LayersBelow& lower : below) {
    std::vector<const RulePatches*> layers = {&built_in_rules()};
    layers.insert(layers.end(), lower.begin(), lower.end());
    layers.push_back(&rules);
    std::vector<std::string> ids;
    bool said_here = false;
    for (const Rule& rule : resolve_rules(layers)) {
      if (rule.kind != RuleKind::cooling) continue;
      ids.push_back(rule.id);
      said_here = said_here || rules.contains(rule.id);
    }
    if (ids.size() < 2 || !said_here) continue;
    std::sort(ids.begin(), ids.end());
    field.warn(field.path + " leaves " + std::to_string(ids.size()) +
               " rules of kind cooling; fall, deepest and longest of the first, \"" +
               printable(ids.front(), 60) + "\", hold for all of them: turn it off, or change it");
    return;
  }
}

}  // namespace

RulePatches read_rules(const Field& field, Layer layer, const std::vector<LayersBelow>& below) {
  RulePatches rules;
  const auto known = [&] { return known_ids(below); };
  const std::vector<Field::Named> entries = field.entries("a map of rules, each a map or off");
  if (entries.size() > limits::kRulesPerLayer) {
    field.refuse(field.path + " has " + std::to_string(entries.size()) +
                 " rules; expected at most " + std::to_string(limits::kRulesPerLayer));
    return rules;
  }
  for (const auto& [id, place, value] : entries) {
    if (!check_id(id, place, "a rule", field.faults)) continue;
    const Below beneath = lay_below(id, below);
    if (value.is_off()) {
      if (auto patch = read_off(id, value, beneath, layer, known)) rules[id] = *patch;
      continue;
    }
    if (value.node.kind != YamlNode::Kind::map) {
      value.fault("a map with keys such as limit and delay, or off");
      continue;
    }
    const Section section(value, rule_keys());
    const ReadPatch read = read_patch(section, beneath, known);
    if (!read.kind) continue;
    check_place(id, section, read.patch, *read.kind, beneath, layer);
    rules[id] = read.patch;
  }
  refuse_eggs_alone(field, rules, below);
  warn_of_second_airing_rule(field, rules, below);
  return rules;
}

}  // namespace clutchward
