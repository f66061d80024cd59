// What a person can do about a cabinet's alarms now, and which alarms one press covers: those that
// were on the page, each in the episode that was shown, and none that came later.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "access/answerable.h"
#include "alarm/event.h"
#include "engine/command.h"

namespace clutchward {

struct Answers {
  bool acknowledge = false;
  bool snooze = false;
  bool unsnooze = false;
  bool pass_on = false;
  bool reset = false;
  std::vector<std::string> covers;  // as `covered` reads them

  bool any() const { return acknowledge || snooze || unsnooze || pass_on || reset; }
};
Answers answers_for(const std::vector<AlarmView>& alarms);

// "hens-12/high/high-17": batch, alarm and episode; no id can hold a slash.
struct Covered {
  std::string batch;
  std::string alarm;
  std::string episode;
};
std::optional<Covered> covered(std::string_view text);

// When an acknowledgement given at `now` would ring again first; none: never.
std::optional<Wall> rings_again(const std::vector<AlarmView>& alarms, Wall now);

}  // namespace clutchward
