// A species' schedule: YAML -> Profile. The same keys stand under `profiles:` and in a file of its
// own. Knows no species.
#pragma once

#include <string>

#include "cabinet/profile.h"
#include "config/section.h"

namespace clutchward {

// `site` are the site's rules, on which a profile's patches lie. What is wrong is reported and left
// out of the profile.
Profile read_profile(const std::string& id, const Field& field, const RulePatches& site);

}  // namespace clutchward
