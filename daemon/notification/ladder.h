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

bool compares(RuleKind kind);  // a value with a limit: above or below

// How far an alarm stands beyond its limit, in its own quantity; 0 for kinds that have none.
Milli beyond_limit(const AlarmView& view);

// Whether `one` is told before `other`: higher priority, then heat before cold before the rest
// (embryos stand cold better than heat), then the more severe limit, then the key.
bool worse(const AlarmView& one, const AlarmView& other);

// The same over several cabinets, where each says how far it stands beyond its limit: that comes
// before the limit, since limits differ from cabinet to cabinet. Only like is compared with like:
// degrees of the air with such degrees, percent with percent. Of unlike quantities the air's
// temperature stands first, then the others in the order of `Quantity`, whatever their figures.
bool worse_apart(const AlarmView& one, Milli beyond, const AlarmView& other, Milli other_beyond);

}  // namespace clutchward
