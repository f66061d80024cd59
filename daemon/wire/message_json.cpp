// Written only. The text itself is left out: its first line says what it is.
#include "wire/message_json.h"

#include <algorithm>
#include <nlohmann/json.hpp>
#include <vector>

namespace clutchward {

std::string to_json(const Notification& message, std::string_view way) {
  nlohmann::ordered_json out;
  out["at"] = to_rfc3339(message.made_at);
  out["contact"] = message.contact;
  out["by"] = way;
  out["urgency"] = name_of(message.urgency);
  out["first_line"] = message.first_line;
  std::vector<std::string> alarms;
  for (const AlarmEvent& event : message.events) {
    const std::string name =
        (event.key.cabinet.empty() ? "site" : event.key.cabinet) + " " + event.key.alarm;
    if (std::find(alarms.begin(), alarms.end(), name) == alarms.end()) alarms.push_back(name);
  }
  out["alarms"] = alarms;
  return out.dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace);
}

}  // namespace clutchward
