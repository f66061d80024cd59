// A cabinet of the world as a plain value.
#pragma once

#include "engine/view.h"
#include "engine/world.h"

namespace clutchward {

CabinetView view_of(const World& world, const CabinetWatch& cabinet);

}  // namespace clutchward
