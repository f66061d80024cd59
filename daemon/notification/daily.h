// The daily line: that the watch lives, one line a cabinet, latches that nobody has reset. Words
// only; whoever calls it knows the hour.
#pragma once

#include <string>
#include <vector>

#include "notification/notification.h"
#include "notification/wording.h"

namespace clutchward {

// A cabinet as the daily line shows it.
struct DailyCabinet {
  std::string name;
  bool no_data = true;
  std::optional<Milli> temperature;
  std::optional<Milli> humidity;
  std::vector<std::string> batches;  // "hens-12 day 4.8 of 21, setting"
  std::vector<AlarmView> alarms;
};

// `faults` are those of the watch itself that stand now.
Notification write_daily(const std::vector<DailyCabinet>& cabinets,
                         const std::vector<std::string>& faults, const Manner& manner);

// The same lines for somebody who asked for them: no sign of life, and nothing of faults.
Notification write_status(const std::vector<DailyCabinet>& cabinets, const Manner& manner);

}  // namespace clutchward
