// The one handler of everything that a person asks for.
#pragma once

#include "engine/world.h"

namespace clutchward {

// Carries the command out at the world's present, or says in a sentence why not; then nothing has
// changed. A message test is only noted in world.tests: notification/ makes the message.
Reply carry_out(World& world, const Command& command);

// batch_deeds.cpp and batch_places.cpp: what is done with a batch.
bool is_of_batch(Deed deed);
Reply on_batch(World& world, const Command& command);

// Words of refusals.
std::string quoted(const std::string& word);
std::string nearest(const std::string& word, const std::vector<std::string>& known);
Reply refused(const Command& command, std::string why);
// What every command leaves behind in a cabinet that it changed.
void after_change(World& world, CabinetWatch& cabinet);

}  // namespace clutchward
