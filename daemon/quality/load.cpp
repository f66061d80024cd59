// Counting by windows: the running one, and what the closed ones came to.
#include "quality/load.h"

#include <algorithm>

namespace clutchward {
namespace {

std::int64_t window_of(Wall at) {
  return std::chrono::floor<std::chrono::minutes>(at).time_since_epoch() / LoadCount::kWindow;
}

double share(std::uint64_t part, std::uint64_t whole) {
  return whole == 0 ? 0 : static_cast<double>(part) / static_cast<double>(whole);
}

double per(std::uint64_t alarms, Span watched, Span unit) {
  if (watched <= Span{0}) return 0;
  return static_cast<double>(alarms) * static_cast<double>(unit.count()) /
         static_cast<double>(watched.count());
}

}  // namespace

double LoadFigures::per_day() const { return per(alarms, watched, std::chrono::days{1}); }
double LoadFigures::per_10_min() const { return per(alarms, watched, LoadCount::kWindow); }
double LoadFigures::busy_share() const { return share(busy_windows, windows); }
double LoadFigures::flood_time_share() const { return share(flood_windows, windows); }
double LoadFigures::flood_alarm_share() const { return share(flood_alarms, alarms); }

std::string_view rate_band(double per_10_min) {
  if (per_10_min < 1) return "very likely acceptable";
  if (per_10_min < 2) return "manageable";
  return per_10_min < 5 ? "too many" : "overloaded";
}

void LoadCount::take(Wall at) {
  const std::int64_t window = window_of(at);
  if (any_ && window > window_) close(window);
  if (!any_) window_ = window;
  any_ = true;
  ++count_;
  ++closed_.alarms;
}

// The running window is over; `next` is the one that runs then. Windows between had none.
void LoadCount::close(std::int64_t next) {
  closed_.peak = std::max(closed_.peak, count_);
  if (count_ > kBegins) {
    ++closed_.busy_windows;
    if (!flood_) ++closed_.floods;
    flood_ = true;
  } else if (count_ < kEnds) {
    flood_ = false;
  }
  if (flood_) {
    ++closed_.flood_windows;
    closed_.flood_alarms += count_;
  }
  if (next > window_ + 1) flood_ = false;
  window_ = next;
  count_ = 0;
}

LoadFigures LoadCount::figures(Wall from, Wall until) const {
  LoadCount whole = *this;
  if (any_) whole.close(window_ + 1);
  LoadFigures out = whole.closed_;
  out.watched = std::max(until - from, Span{0});
  if (out.watched > Span{0})
    out.windows = static_cast<std::uint64_t>(window_of(until - Span{1}) - window_of(from) + 1);
  return out;
}

}  // namespace clutchward
