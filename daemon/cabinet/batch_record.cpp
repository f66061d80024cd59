// The few sums that every reader of a batch's record needs.
#include "cabinet/batch_record.h"

namespace clutchward {

std::string_view name_of(Fate fate) { return kFateNames[static_cast<std::size_t>(fate)]; }

int BatchRecord::eggs_left() const {
  int left = eggs;
  for (const Candling& each : candlings)
    for (const auto& [fate, count] : each.removed) left -= count;
  for (const auto& [fate, count] : outcome) left -= count;
  return left;
}

}  // namespace clutchward
