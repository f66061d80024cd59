// The watch itself as JSON, for the keeper's command. Writes only.
#pragma once

#include <nlohmann/json.hpp>
#include <string>

#include "web/watch_view.h"

namespace clutchward {

// Times in RFC 3339 UTC, spans in seconds; what is not known is null. `timezone` and `show` say how
// people read times and temperatures.
nlohmann::ordered_json watch_json(const WatchView& watch);
std::string to_json(const WatchView& watch);

}  // namespace clutchward
