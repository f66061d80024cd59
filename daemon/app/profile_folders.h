// Where the shipped profiles lie.
#pragma once

#include <string>
#include <vector>

namespace clutchward {

// $CLUTCHWARD_PROFILES where set; else where they are installed; else, for a program run from its
// build tree, the checkout's config/profiles. Empty where there are none.
std::vector<std::string> profile_folders();

}  // namespace clutchward
