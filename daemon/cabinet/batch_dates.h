// The dates in a batch's life that a person acts on: what the calendar, the reminders and the
// page's "what comes next" all read. From the profile alone, or with what was done laid over it.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/time.h"
#include "cabinet/batch_record.h"
#include "cabinet/profile.h"

namespace clutchward {

enum class TaskKind : std::uint8_t {
  candle,
  weigh,
  stop_turning,
  raise_humidity,
  transfer,
  lockdown,
  pip,
  hatch,
  end_batch
};
std::string_view name_of(TaskKind kind);

struct BatchDate {
  TaskKind kind = TaskKind::candle;
  int number = 1;  // first, second candling ...: (kind, number) is stable for one batch
  Wall from{};
  Wall to{};              // equal to `from` for a moment
  std::string what;       // a sentence for people: "Candle: day 7"
  bool done = false;      // a deed of the record answers it, or the batch has ended
  bool recorded = false;  // a deed of the record answers it
  bool operator==(const BatchDate&) const = default;
};

// In order of time. A day N is N x 24 h after set_at, whatever the clocks do in between.
std::vector<BatchDate> dates_of(const Profile& profile, Wall set_at);

// The same for one batch: what was done is marked, and eggs stored for more than a week are
// expected later, an hour for each day past the seventh (Hatchery Signals, seen in an excerpt).
std::vector<BatchDate> dates_of(const Profile& profile, const BatchRecord& record);

// Nobody is asked about it any more.
bool is_left_behind(const BatchDate& date, Wall now);

// The first date that is neither done nor past. What nobody can mark as done (turning stopped,
// humidity raised, the lockdown) is past a day after it, a candling, a weighing or a transfer three
// days after it; the end of the batch stays until it is ended.
std::optional<BatchDate> next_date(const Profile& profile, const BatchRecord& record, Wall now);

// The day from which the eggs lie still until the hatch; none where they never do.
std::optional<double> lockdown_day(const Profile& profile);

// Where a batch stands. Overdue: past its latest chicks, and nobody ended it.
enum class Phase : std::uint8_t { planned, set, lockdown, hatching, overdue, ended };
inline constexpr std::array<std::string_view, 6> kPhaseNames = {"planned",  "set",     "lockdown",
                                                                "hatching", "overdue", "ended"};
std::string_view name_of(Phase phase);
Phase phase_of(const Profile& profile, const BatchRecord& record, Wall now);

}  // namespace clutchward
