// Batches that stand in the configuration: YAML -> BatchSettings.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "cabinet/settings.h"
#include "config/section.h"

namespace clutchward {

// `so_far` must hold the site's rules, the profiles and the cabinets: what a batch refers to.
std::vector<BatchSettings> read_batches(const Field& field, const Settings& so_far);

}  // namespace clutchward
