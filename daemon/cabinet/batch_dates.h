// The dates in a batch's life that a person acts on: what the calendar, the reminders and the
// page's "what comes next" all read. Computed from the profile alone; says nothing about what was
// done.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "base/time.h"
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
  Wall to{};         // equal to `from` for a moment
  std::string what;  // a sentence for people: "Candle: day 7"
  bool operator==(const BatchDate&) const = default;
};

// In order of time. A day N is N x 24 h after set_at, whatever the clocks do in between.
std::vector<BatchDate> dates_of(const Profile& profile, Wall set_at);

}  // namespace clutchward
