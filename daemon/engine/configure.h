// A new configuration laid over the running world, and the batches that a configuration names.
#pragma once

#include "engine/world.h"

namespace clutchward {

// Starts the configuration's batches that the state does not know, and brings every batch to the
// stage of the present wall time.
void begin_batches(World& world);

// Takes the new configuration whole: rules, profiles, cabinets and batches are bound anew; alarms
// keep their lives. A batch of the old configuration that the new one leaves out is ended.
void reconfigure(World& world, const Settings& settings, const Zone& zone);

// Keeps a command's answer, so that the same id is done once (limits::kCommandIds of them).
void remember_answer(World& world, const Reply& reply);
void load_answers(World& world, const std::vector<std::pair<std::string, Tree>>& kept);

}  // namespace clutchward
