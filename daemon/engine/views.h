// A cabinet of the world as a plain value.
#pragma once

#include "engine/brief.h"
#include "engine/view.h"
#include "engine/world.h"
#include "rules/origin.h"

namespace clutchward {

CabinetView view_of(const World& world, const CabinetWatch& cabinet);
Priority priority_now(const World& world, const CabinetWatch& cabinet, const BatchWatch* batch,
                      const Slot& slot);

// --- in_force.cpp --------------------------------------------------------------------------------
CabinetBrief brief_of(const World& world, const CabinetWatch& cabinet);
// The machine's rules, then those of each batch, each with where it comes from.
std::vector<RuleInForce> rules_in_force(const World& world, const CabinetWatch& cabinet);

}  // namespace clutchward
