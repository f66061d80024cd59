// From a profile's days to dates, and what of them is done.
#include "cabinet/batch_dates.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "base/text.h"

namespace clutchward {
namespace {

using std::chrono::hours;

constexpr std::array<std::string_view, 9> kTaskNames = {
    "candle",   "weigh", "stop_turning", "raise_humidity", "transfer",
    "lockdown", "pip",   "hatch",        "end_batch"};

// Weekly weighing shows a loss off its line in time (common practice; daily is better, Hand-Rearing
// Birds p. 65).
constexpr double kWeighEvery = 7;
// A deed so much before its date answers it: keepers candle on the free day before.
constexpr Span kEarlyDeed = hours{48};
// A batch that nobody ended is asked about so long after its latest chicks.
constexpr Span kAskAfter = hours{48};
constexpr Span kPastAfter = hours{24};
constexpr Span kDeedPastAfter = hours{72};  // not done by then, it will not be

Wall on_day(Wall set_at, double day) {
  return set_at + Span(std::chrono::milliseconds(std::llround(day * 86'400'000.0)));
}

double day_of(Span span) { return static_cast<double>(span.count()) / 86'400'000.0; }

// 7 -> "7", 14.5 -> "14.5"
std::string day_text(double day) { return milli_exact(std::llround(day * 1000)); }

bool turns(const Stage& stage) { return stage.turn_every || !stage.turn_at.empty(); }

class Dates {
 public:
  Dates(Wall set_at, std::vector<BatchDate>& into) : set_at_(set_at), into_(into) {}

  void moment(TaskKind kind, int number, double day, const std::string& what) {
    const Wall at = on_day(set_at_, day);
    into_.push_back({kind, number, at, at, what + ": day " + day_text(day)});
  }
  void window(TaskKind kind, const DayWindow& days, const std::string& what) {
    into_.push_back({kind, 1, on_day(set_at_, days.from), on_day(set_at_, days.to), what});
  }

 private:
  Wall set_at_;
  std::vector<BatchDate>& into_;
};

void add_weighings(const Profile& profile, Dates& dates) {
  if (!profile.mass_loss) return;
  double last = profile.mass_loss->by_day;
  if (const auto lockdown = lockdown_day(profile)) last = std::min(last, *lockdown);
  int number = 0;
  for (double day = 0; day < last - 2; day += kWeighEvery)
    dates.moment(TaskKind::weigh, ++number, day, "Weigh the eggs");
  dates.moment(TaskKind::weigh, ++number, last, "Weigh the eggs");
}

void add_changes(const Profile& profile, Dates& dates) {
  int stops = 0, rises = 0;
  for (std::size_t i = 1; i < profile.stages.size(); ++i) {
    const Stage& before = profile.stages[i - 1];
    const Stage& stage = profile.stages[i];
    if (turns(before) && !turns(stage) && !stage.turn_any)
      dates.moment(TaskKind::stop_turning, ++stops, day_of(stage.from), "Stop turning");
    if (before.humidity && stage.humidity && stage.humidity->from > before.humidity->from)
      dates.moment(TaskKind::raise_humidity, ++rises, day_of(stage.from),
                   "Raise the humidity to " + milli_exact(stage.humidity->from) + "-" +
                       milli_exact(stage.humidity->to) + " %");
  }
}

// When the last chicks are expected: the end of the hatch window, or the planned day.
double latest_day(const Profile& profile) {
  return profile.hatch ? profile.hatch->to : profile.days;
}

Span storage_delay(const BatchRecord& record) {
  const double days = std::max(0.0, record.stored_days.value_or(0) - 7);
  return Span(std::chrono::milliseconds(std::llround(days * 3'600'000.0)));
}

bool is_recorded(const BatchDate& date, const BatchRecord& record) {
  const auto done_since = [&](const auto& deeds) {
    return std::any_of(deeds.begin(), deeds.end(),
                       [&](const auto& deed) { return deed.at >= date.from - kEarlyDeed; });
  };
  switch (date.kind) {
    case TaskKind::candle:
      return done_since(record.candlings);
    case TaskKind::weigh:
      return done_since(record.weighings);
    case TaskKind::transfer:
      return done_since(record.moves);
    default:
      return false;
  }
}

void in_order(std::vector<BatchDate>& dates) {
  std::stable_sort(dates.begin(), dates.end(),
                   [](const BatchDate& a, const BatchDate& b) { return a.from < b.from; });
}

}  // namespace

std::string_view name_of(TaskKind kind) { return kTaskNames[static_cast<std::size_t>(kind)]; }
std::string_view name_of(Phase phase) { return kPhaseNames[static_cast<std::size_t>(phase)]; }

std::optional<double> lockdown_day(const Profile& profile) {
  std::optional<double> day;
  if (profile.stages.size() > 1 && !turns(profile.stages.back()))
    day = day_of(profile.stages.back().from);
  return day;
}

std::vector<BatchDate> dates_of(const Profile& profile, Wall set_at) {
  std::vector<BatchDate> all;
  Dates dates(set_at, all);
  int number = 0;
  for (const double day : profile.candling) dates.moment(TaskKind::candle, ++number, day, "Candle");
  add_weighings(profile, dates);
  add_changes(profile, dates);
  if (profile.transfer_day)
    dates.moment(TaskKind::transfer, 1, *profile.transfer_day, "Move to the hatcher");
  if (const auto day = lockdown_day(profile)) dates.moment(TaskKind::lockdown, 1, *day, "Lockdown");
  if (profile.pip) dates.window(TaskKind::pip, *profile.pip, "Pipping expected");
  dates.window(TaskKind::hatch, profile.hatch.value_or(DayWindow{profile.days, profile.days}),
               "Hatching expected");
  const Wall ask = on_day(set_at, latest_day(profile)) + kAskAfter;
  all.push_back(
      {TaskKind::end_batch, 1, ask, ask,
       "End the batch: the last chicks were expected on day " + day_text(latest_day(profile))});
  in_order(all);
  return all;
}

std::vector<BatchDate> dates_of(const Profile& profile, const BatchRecord& record) {
  std::vector<BatchDate> dates = dates_of(profile, record.set_at);
  const Span later = storage_delay(record);
  for (BatchDate& date : dates) {
    if (date.kind == TaskKind::pip || date.kind == TaskKind::hatch ||
        date.kind == TaskKind::end_batch) {
      date.from += later;
      date.to += later;
    }
    date.recorded = is_recorded(date, record);
    date.done = date.recorded || record.ended_at;
  }
  in_order(dates);
  return dates;
}

bool is_left_behind(const BatchDate& date, Wall now) {
  if (date.kind == TaskKind::end_batch) return false;
  const bool a_deed = date.kind == TaskKind::candle || date.kind == TaskKind::weigh ||
                      date.kind == TaskKind::transfer;
  return date.to + (a_deed ? kDeedPastAfter : kPastAfter) <= now;
}

std::optional<BatchDate> next_date(const Profile& profile, const BatchRecord& record, Wall now) {
  for (BatchDate& date : dates_of(profile, record)) {
    if (date.done) continue;
    if (!is_left_behind(date, now)) return std::move(date);
  }
  return std::nullopt;
}

Phase phase_of(const Profile& profile, const BatchRecord& record, Wall now) {
  if (record.ended_at) return Phase::ended;
  if (!record.set) return Phase::planned;
  const Span late = storage_delay(record);
  if (now > on_day(record.set_at, latest_day(profile)) + late) return Phase::overdue;
  const double first = profile.pip     ? profile.pip->from
                       : profile.hatch ? profile.hatch->from
                                       : profile.days - 1;
  if (now >= on_day(record.set_at, first) + late) return Phase::hatching;
  // The eggs lie still once the last stage has begun, by the clock or by their move.
  const bool still = lockdown_day(profile) && !record.stages.empty() &&
                     record.stages.back().name == profile.stages.back().name;
  return still ? Phase::lockdown : Phase::set;
}

}  // namespace clutchward
