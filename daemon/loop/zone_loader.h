// Makes a Zone of the C library's rules: the only place that asks the system about local time.
#pragma once

#include <string>

#include "base/result.h"
#include "base/zone.h"

namespace clutchward {

// The rules of the zone with that name in the tz database ("Europe/Dublin") from 2020 to 2060, to
// the second. Sets TZ for the whole process, so it is to be called before there are threads; the
// zone stays set, as a process has one site. Refused: a name the database does not have.
Result<Zone> load_zone(const std::string& name);

}  // namespace clutchward
