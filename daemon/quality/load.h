// How many alarms came at somebody, counted in ten-minute windows of the wall clock: the rate, the
// peak, the busy windows and the floods. Memory does not grow with what is counted.
#pragma once

#include <cstdint>
#include <string_view>

#include "base/time.h"

namespace clutchward {

struct LoadFigures {
  std::uint64_t alarms = 0;
  std::uint64_t windows = 0;       // of ten minutes, begun ones too
  std::uint64_t busy_windows = 0;  // with more than ten alarms
  std::uint64_t floods = 0;
  std::uint64_t flood_windows = 0;
  std::uint64_t flood_alarms = 0;
  std::uint64_t peak = 0;  // most in one window
  Span watched{0};
  bool operator==(const LoadFigures&) const = default;

  double per_day() const;
  double per_10_min() const;
  double busy_share() const;
  double flood_time_share() const;
  double flood_alarm_share() const;
};

// What a rate means, in the words of EEMUA's bands as a secondary article gives them: below 1 in
// ten minutes "very likely acceptable", below 2 "manageable", below 5 "too many", else
// "overloaded".
std::string_view rate_band(double per_10_min);

class LoadCount {
 public:
  static constexpr Span kWindow = std::chrono::minutes{10};
  // A flood begins in the window with more than this many and is over with the one that has fewer
  // than kEnds (ISA-18.2-2016 16.4.4 as a secondary article gives it).
  static constexpr std::uint64_t kBegins = 10;
  static constexpr std::uint64_t kEnds = 5;

  // In order of time; what is earlier than the last counts where the last did.
  void take(Wall at);
  // From `from` to `until`, which hold everything that was taken.
  LoadFigures figures(Wall from, Wall until) const;

 private:
  void close(std::int64_t next);

  std::int64_t window_ = 0;  // the running one, since 1970
  std::uint64_t count_ = 0;  // in it
  bool any_ = false;
  bool flood_ = false;
  LoadFigures closed_;
};

}  // namespace clutchward
