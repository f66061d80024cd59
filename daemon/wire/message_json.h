// The JSON of one message to a person as a replay prints it: who would have been told what, when.
#pragma once

#include <string>
#include <string_view>

#include "notification/notification.h"

namespace clutchward {

// {"at":…,"contact":"mara","by":"webhook","urgency":"high","first_line":…,"alarms":["setter-a
// high"]}
std::string to_json(const Notification& message, std::string_view way);

}  // namespace clutchward
