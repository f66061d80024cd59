// The daemon's JSON back into the views that it was made of, as far as the screen needs them.
#pragma once

#include <string>
#include <vector>

#include "base/result.h"
#include "engine/view.h"
#include "web/watch_view.h"

namespace clutchward {

// Keys that are not there or of another type count as not known: an older daemon is still shown.
Result<std::vector<CabinetView>> read_cabinets(const std::string& json);
Result<CabinetView> read_cabinet(const std::string& json);
// With the zone's rules from the C library, or UTC where it has none.
Result<WatchView> read_watch(const std::string& json);

}  // namespace clutchward
