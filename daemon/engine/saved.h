// The state of the world as trees of text, and back.
#pragma once

#include "engine/world.h"

namespace clutchward {

Tree save_cabinet(const World& world, const CabinetWatch& cabinet);
Tree save_batch(const World& world, const CabinetWatch& cabinet, const BatchWatch& batch);

// Whether a condition of the cabinet or its batches holds, or one of their alarms is active.
bool something_stands(const CabinetWatch& cabinet);
// The cabinet and its batches as changes to be made durable. What the configuration alone brings
// back at the next start, and nothing has happened to, is not kept; what was kept once stays so.
void keep_cabinet(World& world, CabinetWatch& cabinet);
// Of the early rules, signals and probes' health: those of a batch, or ("") of the cabinet.
Tree save_early(const World& world, const CabinetWatch& cabinet, const std::string& batch);
// `now` is the wall time that kept times count from. Signals before the machine's rules are bound.
void load_signals(World& world, CabinetWatch& cabinet, const Tree& tree, Wall now);
void load_early(World& world, CabinetWatch& cabinet, const BatchWatch* batch, const Tree& tree,
                Wall now);

// Lays what was kept over the world at its present; says what could not be understood.
std::vector<std::string> restore_world(World& world,
                                       const std::vector<std::pair<std::string, Tree>>& kept,
                                       Wall saved_at);

}  // namespace clutchward
