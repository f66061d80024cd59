// The same turns for every crash test: cabinets that stay, alarms that change, outbox entries that
// come and go. What is kept after turn n is a function of n alone, so that any state read back can
// be told right or wrong.
#pragma once

#include <string>
#include <vector>

#include "store/document.h"

namespace clutchward::workload {

inline Tree tree_of(std::uint64_t turn) {
  Tree probe = Tree::map();
  probe.add("name", "upper").add("last", std::to_string(turn));
  Tree tree = Tree::map();
  tree.add("turn", std::to_string(turn))
      .add("text",
           "Mara: \"37.8 \xC2\xB0"
           "C\", line\nbreak")
      .add("probes", Tree::list().add(probe).add(Tree("lower")));
  return tree;
}

inline std::vector<Change> changes_of(std::uint64_t turn) {
  std::vector<Change> changes;
  changes.push_back({"cabinets/setter-" + std::to_string(turn % 3), tree_of(turn)});
  changes.push_back({"alarms/" + std::to_string(turn % 4), tree_of(turn)});
  if (turn % 5 == 0) changes.push_back({"alarms/" + std::to_string((turn + 2) % 4), std::nullopt});
  changes.push_back({"outbox/" + std::to_string(turn), tree_of(turn)});
  if (turn > 3) changes.push_back({"outbox/" + std::to_string(turn - 3), std::nullopt});
  return changes;
}

inline Wall at_of(std::uint64_t turn) {
  // The first of March 2026, 09:00 UTC, and a second a turn.
  return Wall(std::chrono::seconds(1772355600 + turn));
}

inline const Entries& entries_after(std::uint64_t turn) {
  static std::vector<Entries> after(1);
  while (after.size() <= turn) {
    Entries next = after.back();
    for (Change& change : changes_of(after.size())) {
      if (change.value)
        next[change.key] = std::move(*change.value);
      else
        next.erase(change.key);
    }
    after.push_back(std::move(next));
  }
  return after[turn];
}

}  // namespace clutchward::workload
