// One cabinet's picture as JSON: on the retained topic, over HTTP, on the command line.
#pragma once

#include <nlohmann/json.hpp>
#include <string>

#include "engine/view.h"

namespace clutchward {

// Numbers in Celsius and percent, times in RFC 3339 UTC; what is not known is null. Alarms that are
// normal stand in `alarms` too, so that a reader sees what is watched.
nlohmann::ordered_json picture(const CabinetView& cabinet);
std::string to_json(const CabinetView& cabinet);

}  // namespace clutchward
