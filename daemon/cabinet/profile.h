// A species' (or a keeper's own) schedule as data: stages by day, targets, turning, cooling and the
// rules that go with them. Files in config/profiles/ become these; no species needs code.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "base/time.h"
#include "rules/rule.h"

namespace clutchward {

// A daily airing: the lid is opened at a local time of day for a while.
struct CoolingWindow {
  Span at{0};  // local time of day
  Span lasts{0};
  bool operator==(const CoolingWindow&) const = default;
};

struct Stage {
  std::string name;
  Span from{0};                    // from_day x 24 h after set_at
  Milli target = 0;                // C
  std::optional<Span> turn_every;  // none: off
  std::vector<CoolingWindow> cooling;
  std::optional<Span> recovery;
  RulePatches rules;
  bool operator==(const Stage&) const = default;
};

struct Profile {
  std::string id;
  std::string name;
  double days = 0;
  std::vector<Stage> stages;  // at least one, the first from day 0, `from` rising
  std::optional<Span> recovery;
  RulePatches rules;
  bool operator==(const Profile&) const = default;
};

}  // namespace clutchward
