// A stage's airings: YAML -> CoolingWindow, at an hour of the day or due by one.
#pragma once

#include <optional>
#include <vector>

#include "cabinet/profile.h"
#include "config/section.h"

namespace clutchward {

// "10:00" as a span since midnight.
std::optional<Span> read_time_of_day(const Field& field);

// A window, a list of them, or `off`. What is wrong is reported and left out.
std::vector<CoolingWindow> read_cooling(const Field& field);

}  // namespace clutchward
