// Sorting resolved rules into the machine's, the site's and the batch's.
#include "engine/rule_book.h"

#include <algorithm>

namespace clutchward {
namespace {

RuleSet only(std::vector<Rule> rules, bool (*wanted)(const Rule&)) {
  std::erase_if(rules, [&](const Rule& rule) { return !wanted(rule); });
  return {std::move(rules)};
}

bool of_batch(const Rule& rule) { return !rule.machine && !is_site_rule(rule.kind); }

}  // namespace

RuleBook::RuleBook(const Settings& settings) : settings_(settings) {
  const auto all = resolve_rules({&built_in_rules(), &settings.rules});
  machine_ = only(all, [](const Rule& rule) { return rule.machine && !is_site_rule(rule.kind); });
  site_ = only(all, [](const Rule& rule) { return is_site_rule(rule.kind); });
  const Rule* silent = machine_.find("silent");
  silence_ = silent != nullptr ? silent->after : Span(std::chrono::minutes{5});
}

const RuleSet& RuleBook::of_stage(const Profile& profile, std::size_t stage, bool still) {
  auto& set = stages_[{&profile, stage, still}];
  if (!set) set = std::make_unique<RuleSet>(with_overrides(profile, stage, still, {}));
  return *set;
}

RuleSet RuleBook::with_overrides(const Profile& profile, std::size_t stage, bool still,
                                 const RulePatches& own) const {
  static const RulePatches none;
  RuleSet set = only(
      resolve_rules({&built_in_rules(), &settings_.rules, &profile.rules,
                     &profile.stages[stage].rules, still ? &profile.still_rules : &none, &own}),
      of_batch);
  if (profile.stages[stage].cooling.empty())
    std::erase_if(set.rules, [](const Rule& rule) { return is_airing_rule(rule.kind); });
  if (!profile.stages[stage].humidity) std::erase_if(set.rules, is_band_rule);
  return set;
}

}  // namespace clutchward
