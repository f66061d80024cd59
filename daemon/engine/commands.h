// The one handler of everything that a person asks for.
#pragma once

#include "engine/world.h"

namespace clutchward {

// Carries the command out at the world's present, or says in a sentence why not; then nothing has
// changed. A message test is only noted in world.tests: notification/ makes the message.
Reply carry_out(World& world, const Command& command);

}  // namespace clutchward
