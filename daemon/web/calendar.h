// The batches' dates as an iCalendar (RFC 5545) that a phone subscribes to. Writes only.
#pragma once

#include <string>
#include <vector>

#include "base/time.h"
#include "base/zone.h"
#include "web/batch_standing.h"

namespace clutchward {

// The same a batch at a time.
class CalendarText {
 public:
  CalendarText(std::string site, Zone zone, Wall now);
  void add(const BatchStanding& batch);
  std::string finish() &&;

 private:
  std::string site_;
  Zone zone_;
  Wall now_;
  std::string text_;
  std::string end_;  // what stands after the last event
};

// One event a date that is not done, on the site's local days: what has been done, and the dates of
// ended batches, are gone. A date of one moment lasts that whole day and names the hour in its
// text; a window lasts from its first day to its last. Each event's UID is the same whenever it is
// asked for: by site, batch, kind and number.
std::string calendar(const std::string& site, const Zone& zone,
                     const std::vector<BatchStanding>& batches, Wall now);

}  // namespace clutchward
