// What to do first for each kind of alarm, in one table, the things not to do among them. Plain
// lines for a keeper at night; where it can hurt they defer to local rules and licensed people.
#pragma once

#include <array>
#include <string_view>
#include <vector>

#include "alarm/event.h"
#include "cabinet/settings.h"

namespace clutchward {

struct Advice {
  std::array<std::string_view, 2>
      first;                            // for the first line, the longer before the shorter; ASCII
  std::vector<std::string_view> lines;  // 2 to 4
};

const Advice& advice_for(const AlarmView& view, MachineType machine);

}  // namespace clutchward
