// One cabinet as JSON over HTTP: the picture of the retained topics, and with each alarm what kind
// of rule it is of, so that a reader can say its values with their unit.
#pragma once

#include <string>

#include "engine/view.h"

namespace clutchward {

// The keys of wire/picture_json.h; each alarm has `kind` and `quantity` besides.
std::string cabinet_json(const CabinetView& cabinet);

}  // namespace clutchward
