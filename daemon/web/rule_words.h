// A rule as people read it, and as programs do: when it rings, and who has said so.
#pragma once

#include <nlohmann/json.hpp>
#include <string>

#include "rules/origin.h"
#include "web/watch_view.h"

namespace clutchward {

// "above 39.5 °C, at once; high priority, latches"
std::string rule_words(const RuleInForce& rule, const WatchView& watch);
// "Built-in; delay: batch hens-12"
std::string origin_words(const RuleInForce& rule);
nlohmann::ordered_json rule_json(const RuleInForce& rule, const WatchView& watch);

}  // namespace clutchward
