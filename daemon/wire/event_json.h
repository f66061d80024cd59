// The JSON of one alarm event as the outside sees it: on the broker, in a webhook, in the replay's
// output. Writes only; it adds nothing to what the event says and leaves no key out.
#pragma once

#include <nlohmann/json.hpp>
#include <string>

#include "alarm/event.h"

namespace clutchward {

// Keys in the published order: at, cabinet, batch, alarm, event, value, limit, worst, by. Numbers
// are the event's thousandths as exact decimals of the unit (39600 -> 39.6); what the event does
// not have, and a cabinet or batch of no name, is null.
nlohmann::ordered_json event_json(const AlarmEvent& event);

// The same as one line of text without a line end. Bytes that are not UTF-8 become U+FFFD.
std::string to_json(const AlarmEvent& event);

}  // namespace clutchward
