// Five tries are free; each further one doubles the wait, up to a quarter of an hour.
#include "access/attempts.h"

#include <algorithm>

#include "base/limits.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

// Five tries, then longer and longer, so that of 10,000 guesses in ten minutes at most 20 are
// looked at (our own choice, as are the first wait and the longest).
constexpr int kFree = 5;
constexpr Span kFirstWait = 15s;
constexpr Span kLongestWait = 15min;
// A keeper who mistypes each morning must not pay for last week.
constexpr Span kForgotten = 1h;

}  // namespace

Span Attempts::wait(const std::string& key, Steady now) const {
  const auto found = counts_.find(key);
  if (found == counts_.end() || now - found->second.last > kForgotten) return Span{0};
  return std::max(Span{0}, found->second.not_before - now);
}

void Attempts::count(const std::string& key, Steady now) {
  Count& count = counts_[key];
  if (now - count.last > kForgotten) count.failures = 0;
  count.last = now;
  ++count.failures;
  if (count.failures < kFree) return;
  Span wait = kFirstWait;
  for (int i = kFree; i < count.failures && wait < kLongestWait; ++i) wait *= 2;
  count.not_before = now + std::min(wait, kLongestWait);
}

void Attempts::make_room(Steady now) {
  if (counts_.size() < limits::kAttemptKeys) return;
  std::erase_if(counts_, [&](const auto& each) { return now - each.second.last > kForgotten; });
  // Strangers from everywhere at once: the oldest goes.
  while (counts_.size() >= limits::kAttemptKeys)
    counts_.erase(std::min_element(
        counts_.begin(), counts_.end(),
        [](const auto& a, const auto& b) { return a.second.last < b.second.last; }));
}

Span Attempts::begin(const std::string& person, const std::string& address, Steady now) {
  const std::string keys[] = {"person " + person, "address " + address};
  Span longest{0};
  for (const std::string& key : keys) longest = std::max(longest, wait(key, now));
  if (longest > Span{0}) return longest;
  make_room(now);
  for (const std::string& key : keys) count(key, now);
  return Span{0};
}

void Attempts::succeeded(const std::string& person, const std::string& address) {
  counts_.erase("person " + person);
  counts_.erase("address " + address);
}

}  // namespace clutchward
