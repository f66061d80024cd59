// Combining probes. Works on whole thousandths, so that means are exact and rounded once.
#include "cabinet/probes.h"

#include <algorithm>
#include <array>
#include <span>

#include "base/check.h"
#include "base/limits.h"

namespace clutchward {
namespace {

Milli rounded_mean(std::int64_t sum, std::int64_t count) {
  const std::int64_t half = count / 2;
  return static_cast<Milli>((sum >= 0 ? sum + half : sum - half) / count);
}

Combined combine_sorted(std::span<const Milli> sorted, Combine how) {
  const std::size_t count = sorted.size();
  if (how == Combine::by_count) how = count >= 3 ? Combine::median : Combine::worst;
  switch (how) {
    case Combine::median: {
      const Milli middle =
          count % 2 == 1 ? sorted[count / 2]
                         : rounded_mean(std::int64_t{sorted[count / 2 - 1]} + sorted[count / 2], 2);
      return {middle, middle};
    }
    case Combine::mean: {
      std::int64_t sum = 0;
      for (const Milli value : sorted) sum += value;
      const Milli mean = rounded_mean(sum, static_cast<std::int64_t>(count));
      return {mean, mean};
    }
    case Combine::worst:
    case Combine::by_count:
      break;
  }
  return {sorted.back(), sorted.front()};
}

// A handful of values, kept in order as they come: no memory is asked for.
class Sorted {
 public:
  void add(Milli value) {
    std::size_t at = count_++;
    for (; at > 0 && values_[at - 1] > value; --at) values_[at] = values_[at - 1];
    values_[at] = value;
  }
  std::span<const Milli> all() const { return {values_.data(), count_}; }

 private:
  std::array<Milli, limits::kProbesPerCabinet> values_;
  std::size_t count_ = 0;
};

}  // namespace

Combined combine(std::vector<Milli>& values, Combine how) {
  CHECK(!values.empty());
  std::sort(values.begin(), values.end());
  return combine_sorted(values, how);
}

void renew(Seen& seen, std::span<const Probe> probes, Quantity quantity, Combine how, Steady now,
           Span silence) {
  const bool others = std::any_of(probes.begin(), probes.end(), [&](const Probe& probe) {
    return probe.quantity == quantity && probe.part == Part::air && probe.heard &&
           !probe.left_out && now - probe.at < silence;
  });
  Sorted fresh;
  Sorted with_silent;
  bool all_fresh = true;
  std::optional<Milli> hottest_left_out;
  for (const Probe& probe : probes) {
    if (probe.quantity != quantity || probe.part != Part::air || !probe.heard) continue;
    const Span age = now - probe.at;
    if (probe.left_out && others) {
      if (age < silence)
        hottest_left_out = std::max(hottest_left_out.value_or(probe.value), probe.value);
      continue;
    }
    if (age < silence) {
      fresh.add(probe.value);
      with_silent.add(probe.value);
    } else if (age - silence < kSilentProbeCounts) {
      with_silent.add(probe.value);
      all_fresh = false;
    }
  }
  const auto values = fresh.all();
  CHECK(!values.empty());
  seen.known = true;
  seen.last = now;
  seen.fresh_probes = static_cast<std::uint8_t>(values.size());
  seen.coldest = values.front();
  seen.hottest = values.back();
  seen.fresh = combine_sorted(values, how);
  seen.with_silent = all_fresh ? seen.fresh : combine_sorted(with_silent.all(), how);
  seen.hottest_with_silent = with_silent.all().back();
  if (!hottest_left_out) return;
  seen.hottest = std::max(seen.hottest, *hottest_left_out);
  seen.hottest_with_silent = std::max(seen.hottest_with_silent, *hottest_left_out);
}

}  // namespace clutchward
