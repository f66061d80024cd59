// Which alarms are rungs of one ladder, which of two is worse, and which still ask for a person.
// Looks at alarms only; it decides nothing about people.
#pragma once

#include "alarm/event.h"

namespace clutchward {

// Active, and nobody has acknowledged, snoozed or taken it out of service.
bool rings(const AlarmView& view);

// Temperature alarms of one cabinet that look the same way: overheat, high, hot and warm; low, cool
// and cool_long. The batch does not matter, for the heat is one.
bool same_ladder(const AlarmView& one, const AlarmView& other);

// Whether `one` is told before `other`: higher priority, then heat before cold before the rest
// (embryos stand cold better than heat), then the more severe limit, then the key.
bool worse(const AlarmView& one, const AlarmView& other);

}  // namespace clutchward
