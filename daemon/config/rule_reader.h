// Rules of one layer: YAML -> RulePatches, checked against the layers below: a patch must fit the
// kind that its rule has there. Lays nothing over anything; rules/ does that.
#pragma once

#include <string>
#include <vector>

#include "config/section.h"
#include "rules/rule.h"

namespace clutchward {

enum class Layer : unsigned char { site, profile, stage, batch };

// The layers below the one being read, lowest first, without the built-in one.
using LayersBelow = std::vector<const RulePatches*>;

// Reads `rules:` of one layer. `below` holds what may lie below it: one list as a rule; for a batch
// one list a stage (a patch must fit at least one of them, and the first that knows the rule is
// asked). Keys that do not fit their rule's kind, a rule without a kind in any layer, a machine or
// site rule above the site layer, limit together with offset and the like are faults; what could be
// read of such a rule stays, so that the layers above do not complain of it once more.
RulePatches read_rules(const Field& field, Layer layer, const std::vector<LayersBelow>& below);

}  // namespace clutchward
