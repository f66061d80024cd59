// What can be answered now, and what one answer covers: all that the message told and that is still
// so, and nothing that came later.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "access/link.h"
#include "alarm/event.h"
#include "engine/command.h"
#include "notification/notification.h"

namespace clutchward {

// Whether the deed would do something to an alarm that stands so.
bool fits(Deed deed, const AlarmView& alarm);

// What the message told, as a link without deed and end: the alarm of its first line, and at most
// so many other cabinets.
Link link_of(const Notification& message, std::size_t others);

// The alarms of a cabinet as they stand; of the site for "".
using AlarmsOf = std::function<std::vector<AlarmView>(const std::string& cabinet)>;

// The commands that do the link's deed to everything that its message told and that it fits, in the
// name of `by`. A length that is too long for one alarm is cut to what that one allows.
std::vector<Command> commands_for(const Link& link, const std::string& by,
                                  std::optional<double> minutes, const AlarmsOf& alarms_of);

}  // namespace clutchward
