// What is done with one batch: each function carries one command out, or refuses with a sentence
// and changes nothing. Internal to this room.
#pragma once

#include "engine/commands.h"

namespace clutchward {

// batch_places.cpp: where the eggs are.
Reply start_batch(World& world, const Command& command);
Reply move_batch(World& world, CabinetWatch& from, BatchWatch& batch, const Command& command);
Reply split_batch(World& world, CabinetWatch& from, BatchWatch& batch, const Command& command);

// batch_deeds.cpp: what is done to them.
Reply candle(World& world, CabinetWatch& cabinet, BatchWatch& batch, const Command& command);
Reply weigh(World& world, CabinetWatch& cabinet, BatchWatch& batch, const Command& command);
Reply finish_batch(World& world, CabinetWatch& cabinet, BatchWatch& batch, const Command& command);

// batch_correct.cpp: what was said wrong.
Reply correct_batch(World& world, CabinetWatch& cabinet, BatchWatch& batch, const Command& command);
Reply correct_finished(World& world, BatchRecord& record, const Command& command);

// When it was done: `at` or now. Refused outside the batch's life.
Result<Wall> time_of_deed(const World& world, Wall set_at, bool set, const Command& command);
// Why eggs cannot have been set then, or "".
std::string set_at_fault(const World& world, const Profile& profile, Wall set_at);
std::string stored_fault(double days);
std::string eggs_text(int eggs);  // "1 egg", "12 eggs"

}  // namespace clutchward
