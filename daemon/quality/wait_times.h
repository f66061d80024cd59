// How long answers took, as counts by length: a percentile without keeping every answer. To the
// second below an hour, to the minute from there on.
#pragma once

#include <cstdint>
#include <map>
#include <optional>

#include "base/time.h"

namespace clutchward {

class WaitTimes {
 public:
  void take(Span waited);
  std::uint64_t count() const { return count_; }
  // The shortest that at least `percent` of the answers did not exceed (nearest rank); none without
  // an answer.
  std::optional<Span> percentile(unsigned percent) const;

 private:
  std::map<std::int64_t, std::uint64_t> by_seconds_;
  std::uint64_t count_ = 0;
};

}  // namespace clutchward
