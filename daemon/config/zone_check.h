// Whether the system knows a time zone. loop/ reads its rules; this only looks that they are there.
#pragma once

#include <string>

#include "config/section.h"

namespace clutchward {

// The name of a zone for which a TZif file lies below the zone folder ($TZDIR, else the usual
// place), or a fault with the nearest name there is.
std::optional<std::string> read_timezone(const Field& field);

}  // namespace clutchward
