// A rule as people read it, and as programs do: when it rings, and who has said so.
#pragma once

#include <nlohmann/json.hpp>
#include <optional>
#include <string>

#include "rules/origin.h"
#include "web/watch_view.h"

namespace clutchward {

// "above 39.5 °C, at once; high priority, latches". `now`: the priority that its alarm would have
// at this moment, where that is not the rule's own (by stage, or after a while).
std::string rule_words(const RuleInForce& rule, const WatchView& watch,
                       std::optional<Priority> now = std::nullopt);
// "Built-in; delay: batch hens-12"
std::string origin_words(const RuleInForce& rule);
nlohmann::ordered_json rule_json(const RuleInForce& rule, const WatchView& watch);

}  // namespace clutchward
