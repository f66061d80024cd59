// Counts by length.
#include "quality/wait_times.h"

#include <algorithm>

namespace clutchward {
namespace {

constexpr std::int64_t kFineUpTo = 3600;
// What is longer counts as so long: past a week nobody asks for the minute, and it bounds the map.
constexpr std::int64_t kLongest = 30LL * 24 * 3600;

}  // namespace

void WaitTimes::take(Span waited) {
  const std::int64_t seconds = std::clamp<std::int64_t>(
      std::chrono::floor<std::chrono::seconds>(waited).count(), 0, kLongest);
  ++by_seconds_[seconds < kFineUpTo ? seconds : seconds / 60 * 60];
  ++count_;
}

std::optional<Span> WaitTimes::percentile(unsigned percent) const {
  if (count_ == 0) return std::nullopt;
  const std::uint64_t rank = std::max<std::uint64_t>(1, (count_ * percent + 99) / 100);
  std::uint64_t seen = 0;
  for (const auto& [seconds, answers] : by_seconds_) {
    seen += answers;
    if (seen >= rank) return std::chrono::seconds{seconds};
  }
  return std::nullopt;
}

}  // namespace clutchward
