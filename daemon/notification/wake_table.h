// "What wakes me": for each contact, by weekday, hour and priority, which channels ring. For people
// to check before they trust; it decides nothing.
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "cabinet/settings.h"

namespace clutchward {

struct WakeRow {
  std::string when;                  // "mon-fri 22:00-06:30", "always"
  std::array<std::string, 3> rings;  // high, medium, low: "webhook, mqtt", "waits", "never"
  bool operator==(const WakeRow&) const = default;
};

struct WakePerson {
  std::string contact;
  std::string told;  // "at once; after 10min on duty days; everyone's turn after 20min"
  std::vector<WakeRow> rows;
  std::vector<std::string> notes;  // absences, whom he stands in for
  bool operator==(const WakePerson&) const = default;
};

std::vector<WakePerson> wake_table(const Settings& settings);

// The table for a terminal.
std::string wake_text(const Settings& settings);

}  // namespace clutchward
