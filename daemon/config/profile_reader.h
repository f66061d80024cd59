// A species' schedule: YAML -> Profile. The same keys stand under `profiles:` and in a file of its
// own. Knows no species.
#pragma once

#include <string>

#include "cabinet/profile.h"
#include "config/section.h"

namespace clutchward {

// `site` are the site's rules, on which a profile's patches lie. `base` is the profile that it is
// based on: its keys hold where this one gives none, its stages are changed by name, its rules by
// key. What is wrong is reported and left out of the profile.
Profile read_profile(const std::string& id, const Field& field, const RulePatches& site,
                     const Profile* base = nullptr);

}  // namespace clutchward
