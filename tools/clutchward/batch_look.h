// The verbs of `clutchward batch` that only look: list, show, mass.
#pragma once

#include "verb.h"

namespace clutchward {

void add_batch_look(CLI::App& batch, Run& run);

}  // namespace clutchward
