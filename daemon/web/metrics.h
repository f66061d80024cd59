// The figures for a metrics collector, as OpenMetrics 1.0 text. What is not known has no sample.
#pragma once

#include <string>
#include <vector>

#include "engine/view.h"
#include "web/watch_view.h"

namespace clutchward {

// Base units in every name (Celsius, ratio 0 to 1, seconds); ends with "# EOF". Labels are cabinet
// and batch-free: their number is bounded by the cabinets that the engine takes.
std::string open_metrics(const WatchView& watch, const std::vector<CabinetView>& cabinets);

}  // namespace clutchward
