// The state of the world as trees of text, and back.
#pragma once

#include "engine/world.h"

namespace clutchward {

Tree save_cabinet(const World& world, const CabinetWatch& cabinet);
Tree save_batch(const World& world, const CabinetWatch& cabinet, const BatchWatch& batch);

// Lays what was kept over the world at its present; says what could not be understood.
std::vector<std::string> restore_world(World& world,
                                       const std::vector<std::pair<std::string, Tree>>& kept,
                                       Wall saved_at);

}  // namespace clutchward
