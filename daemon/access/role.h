// What each role may do. Decides on the deed alone; who somebody is, others find out.
#pragma once

#include <string>

#include "cabinet/person.h"
#include "engine/command.h"

namespace clutchward {

// `answer` for what one does with an alarm or at a cabinet at night; `manage` for what changes what
// is watched, and for every deed that is not named here.
Role needed_for(Deed deed);

inline bool may(Role role, Role needed) { return role >= needed; }

}  // namespace clutchward
