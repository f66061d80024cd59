// The rules of a time zone, read from the C library into plain data. One site, one zone.
#pragma once

#include <string>

#include "base/result.h"
#include "base/zone.h"

namespace clutchward {

// The offset changes of a zone such as "Europe/Dublin" from 2020 to 2060. Sets the process's zone
// (TZ) to it: to be called before threads run, or with the same name again.
Result<Zone> load_zone(const std::string& name);

}  // namespace clutchward
