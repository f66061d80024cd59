// The one handler of everything that a person asks for.
#pragma once

#include "engine/world.h"

namespace clutchward {

// Carries the command out at the world's present, or says in a sentence why not; then nothing has
// changed. `message_test` is not the engine's: the caller answers it.
Reply carry_out(World& world, const Command& command);

}  // namespace clutchward
