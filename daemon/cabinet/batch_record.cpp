// The few sums that every reader of a batch's record needs.
#include "cabinet/batch_record.h"

namespace clutchward {

std::string_view name_of(Fate fate) { return kFateNames[static_cast<std::size_t>(fate)]; }

std::optional<Fate> fate_named(std::string_view word) {
  for (std::size_t i = 0; i < kFateNames.size(); ++i)
    if (kFateNames[i] == word) return static_cast<Fate>(i);
  return std::nullopt;
}

int count(const Fates& fates) {
  int all = 0;
  for (const auto& [fate, eggs] : fates) all += eggs;
  return all;
}

int BatchRecord::eggs_left() const {
  int left = eggs - count(outcome);
  for (const Candling& each : candlings) left -= count(each.removed);
  return left;
}

}  // namespace clutchward
