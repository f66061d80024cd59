// The batches' dates as an iCalendar (RFC 5545) that a phone subscribes to. Writes only.
#pragma once

#include <string>
#include <vector>

#include "base/time.h"
#include "base/zone.h"
#include "web/batch_standing.h"

namespace clutchward {

// One event a date that is not done, on the site's local days: what has been done, and the dates of
// ended batches, are gone. A date of one moment lasts that whole day and names the hour in its
// text; a window lasts from its first day to its last. Each event's UID is the same whenever it is
// asked for: by site, batch, kind and number.
std::string calendar(const std::string& site, const Zone& zone,
                     const std::vector<BatchStanding>& batches, Wall now);

}  // namespace clutchward
