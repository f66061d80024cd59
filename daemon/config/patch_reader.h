// The keys of one rule in one layer, checked against what lower layers say of that rule: its kind
// decides which keys it may have, its quantity which units. Knows nothing of layers by name.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "config/section.h"
#include "rules/rule.h"

namespace clutchward {

// What the layers below say of one rule, as far as a patch must fit it.
struct Below {
  bool known = false;  // some layer names it
  std::optional<RuleKind> kind;
  std::optional<Quantity> quantity;
  std::optional<bool> machine;
  bool limit = false;
  bool offset = false;
  bool signal = false;  // the on/off quantity is named

  void lay(const RulePatch& patch) {
    if (patch.kind) kind = patch.kind;
    if (patch.quantity) quantity = patch.quantity;
    if (patch.machine) machine = patch.machine;
    signal = signal || patch.early.signal.has_value();
    if (patch.limit || patch.offset) {
      limit = patch.limit.has_value();
      offset = patch.offset.has_value();
    }
  }
};

// The keys that a rule may have.
const std::vector<std::string>& rule_keys();

struct ReadPatch {
  RulePatch patch;               // what could be read of it
  std::optional<RuleKind> kind;  // none: not to be found out; nothing else was read then
  bool good = true;              // false: something was reported
};

// `known` gives the ids of all rules below, for the nearest word where the kind is missing.
ReadPatch read_patch(const Section& section, const Below& below,
                     const std::function<std::vector<std::string>()>& known);

}  // namespace clutchward
