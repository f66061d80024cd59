// Where each word of a rule comes from: the same layers that resolve_rules lays over each other,
// with the names by which people know them.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "rules/rule.h"

namespace clutchward {

struct NamedLayer {
  std::string name;  // "built-in", "profile goose"
  const RulePatches* patches = nullptr;
};

// The keys of a rule that hold as this layer has said them.
struct RuleOrigin {
  std::string layer;
  std::vector<std::string> keys;
  bool operator==(const RuleOrigin&) const = default;
};

// A rule that watches one cabinet or batch now.
struct RuleInForce {
  std::string batch;  // "" : the machine's
  Rule rule;
  std::optional<Milli> limit;    // as it counts now, in the rule's own quantity
  std::vector<RuleOrigin> from;  // lowest layer first; what no layer says is the rule kind's own
  bool operator==(const RuleInForce&) const = default;
};

// The origin of every key of the rule `id`, lowest layer first. Empty where no layer has it, or the
// last word is `off`.
std::vector<RuleOrigin> origin_of(const std::string& id, const std::vector<NamedLayer>& layers);

}  // namespace clutchward
