// Two real temperature logs with labelled failures through the rules trend and rate.
#pragma once

#include <string>

namespace clutchward::early {

// Reads the two series and their windows from the folder; says "skipped" where it is not there.
int nab(const std::string& folder);

}  // namespace clutchward::early
