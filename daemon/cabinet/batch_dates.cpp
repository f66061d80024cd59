// From a profile's days to dates.
#include "cabinet/batch_dates.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "base/text.h"

namespace clutchward {
namespace {

constexpr std::array<std::string_view, 9> kTaskNames = {
    "candle",   "weigh", "stop_turning", "raise_humidity", "transfer",
    "lockdown", "pip",   "hatch",        "end_batch"};

Wall on_day(Wall set_at, double day) {
  return set_at + Span(std::chrono::milliseconds(std::llround(day * 86'400'000.0)));
}

// 7 -> "7", 14.5 -> "14.5"
std::string day_text(double day) { return milli_exact(std::llround(day * 1000)); }

}  // namespace

std::string_view name_of(TaskKind kind) { return kTaskNames[static_cast<std::size_t>(kind)]; }

std::vector<BatchDate> dates_of(const Profile& profile, Wall set_at) {
  std::vector<BatchDate> dates;
  int number = 0;
  for (const double day : profile.candling) {
    const Wall at = on_day(set_at, day);
    dates.push_back({TaskKind::candle, ++number, at, at, "Candle: day " + day_text(day)});
  }
  if (profile.transfer_day) {
    const Wall at = on_day(set_at, *profile.transfer_day);
    dates.push_back({TaskKind::transfer, 1, at, at,
                     "Move to the hatcher: day " + day_text(*profile.transfer_day)});
  }
  const auto window = [&](TaskKind kind, const DayWindow& days, const std::string& what) {
    dates.push_back({kind, 1, on_day(set_at, days.from), on_day(set_at, days.to), what});
  };
  if (profile.pip) window(TaskKind::pip, *profile.pip, "Pipping expected");
  if (profile.hatch) window(TaskKind::hatch, *profile.hatch, "Hatching expected");
  std::stable_sort(dates.begin(), dates.end(),
                   [](const BatchDate& a, const BatchDate& b) { return a.from < b.from; });
  return dates;
}

}  // namespace clutchward
