// Resolved rules, once for everyone who shares them: the machine's, and those of each profile's
// stage. Slots point into it; a new configuration makes a new book and rebinds them.
#pragma once

#include <map>
#include <memory>
#include <string>
#include <tuple>
#include <vector>

#include "cabinet/settings.h"
#include "rules/rule.h"

namespace clutchward {

struct RuleSet {
  std::vector<Rule> rules;  // sorted by id

  const Rule* find(const std::string& id) const {
    for (const Rule& rule : rules)
      if (rule.id == id) return &rule;
    return nullptr;
  }
};

class RuleBook {
 public:
  explicit RuleBook(const Settings& settings);

  const RuleSet& machine() const { return machine_; }
  const RuleSet& site() const { return site_; }
  // After how long a cabinet's probes are no longer fresh: the silent rule's, 5 min where it is
  // off.
  Span silence() const { return silence_; }

  // The rules of a batch at one stage of a profile of these settings, in a forced-air or a
  // still-air machine.
  const RuleSet& of_stage(const Profile& profile, std::size_t stage, bool still);
  RuleSet with_overrides(const Profile& profile, std::size_t stage, bool still,
                         const RulePatches& own) const;

 private:
  const Settings& settings_;
  RuleSet machine_;
  RuleSet site_;
  Span silence_;
  std::map<std::tuple<const Profile*, std::size_t, bool>, std::unique_ptr<RuleSet>> stages_;
};

}  // namespace clutchward
