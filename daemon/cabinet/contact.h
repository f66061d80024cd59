// When a person can be told, and of what, as the configuration says it: hours, quiet hours,
// absences, rotas; and what a stand-in has to know of a cabinet. Plain values of local time.
#pragma once

#include <array>
#include <chrono>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "rules/rule.h"

namespace clutchward {

// A stretch of the day on some weekdays, in local time. It begins on the day; where `to` is not
// above `from` it ends on the next one.
struct DayHours {
  std::uint8_t days = 0x7f;  // bit 0: Monday
  Span from{0};
  Span to{std::chrono::hours{24}};  // up to 24 h, itself outside
  bool operator==(const DayHours&) const = default;
};

// Whole local days, both of them away.
struct AwaySettings {
  std::chrono::local_days from{};
  std::chrono::local_days until{};
  std::string instead;  // the contact who stands in; "" : nobody
  bool operator==(const AwaySettings&) const = default;
};

// One contact's times. Who has none of them can always be told of everything.
struct ContactTimes {
  std::vector<DayHours> hours;  // none: always
  std::vector<DayHours> quiet;  // only `priority: high` rings then
  Priority least = Priority::low;
  std::vector<AwaySettings> away;  // in rising order, none overlaps another
  bool operator==(const ContactTimes&) const = default;
};

// Who is on duty by weekday. It may stand wherever a contact may.
struct RotaSettings {
  Span begins{0};                                // a day of duty, by local time
  std::array<std::vector<std::string>, 7> days;  // contacts, Monday first
  bool operator==(const RotaSettings&) const = default;
};

// What somebody who does not know the room has to know of a cabinet.
struct GuideSettings {
  std::string where;      // where things are
  std::string first_aid;  // what to do before anything else
  bool operator==(const GuideSettings&) const = default;
};

}  // namespace clutchward
