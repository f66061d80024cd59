// The published measures beside what was found: each with its target, where that comes from, and
// whether there is enough to judge it by. Judges; it prints nothing.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "quality/people.h"
#include "quality/tally.h"

namespace clutchward {

enum class Verdict : std::uint8_t {
  within,
  past,
  too_little,  // data to judge by
  none         // no target was published, or none was seen
};
std::string_view name_of(Verdict verdict);

struct QualityMeasure {
  std::string key;   // "alarms_a_day"
  std::string what;  // "alarms a day"
  std::string who;   // the person; "" : all of them together
  std::optional<double> value;
  std::string unit;  // "%", "s", "" : a count
  std::string target;
  std::string source;
  Verdict verdict = Verdict::none;
  std::string why;  // too little of what, where that is the verdict
  bool operator==(const QualityMeasure&) const = default;
};

// The table asks for at least so long.
inline constexpr Span kEnoughTime = std::chrono::days{30};
// Rates and shares of less are not judged at all (our own choice).
inline constexpr Span kAverageTime = std::chrono::days{1};
// Fewer than so many alarms make no shares and no percentiles worth a judgement (our own choice).
inline constexpr std::uint64_t kEnoughAlarms = 20;

// Of one person, or of everybody together where `who` is "".
std::vector<QualityMeasure> load_measures(const LoadFigures& load, const std::string& who);
// Those of the alarms themselves.
std::vector<QualityMeasure> alarm_measures(const TallyFigures& figures);

}  // namespace clutchward
