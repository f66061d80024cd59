// One cabinet in a few words: what it takes to order ten thousand of them and to count how they
// stand, without writing each of them out.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "alarm/event.h"

namespace clutchward {

// An alarm that is not normal.
struct AlarmBrief {
  AlarmState state = AlarmState::normal;
  Priority priority = Priority::medium;
  bool snoozed = false;
  bool awaits_news = false;   // suppressed for nothing but the connection to the broker
  std::optional<Wall> since;  // raised, or its condition turned true
  bool operator==(const AlarmBrief&) const = default;
};

// Whether that is all that keeps an alarm from being raised.
inline bool awaits_news_only(const std::vector<std::string>& suppressed_for) {
  return suppressed_for.size() == 1 && suppressed_for.front() == "broker_lost";
}

struct CabinetBrief {
  std::string id;
  bool no_data = true;
  bool watched = false;   // eggs are set
  bool attended = false;  // somebody is there
  std::optional<Wall> last_reading;
  std::vector<AlarmBrief> alarms;
  bool operator==(const CabinetBrief&) const = default;
};

}  // namespace clutchward
