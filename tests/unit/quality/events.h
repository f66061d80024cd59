// Alarm events made by hand for the tests of the tallies.
#pragma once

#include <string>

#include "alarm/event.h"

namespace clutchward::quality_test {

using namespace std::chrono_literals;

inline constexpr Wall kStart{Span{1772352000000}};  // 2026-03-01T08:00:00Z

inline AlarmEvent event(Span at, EventKind kind, const std::string& alarm = "high",
                        const std::string& cabinet = "setter-a") {
  AlarmEvent made;
  made.at = kStart + at;
  made.key = {cabinet, "hens-12", alarm};
  made.kind = kind;
  return made;
}

inline AlarmEvent at_value(AlarmEvent made, Milli value, Milli limit) {
  made.value = value;
  made.limit = limit;
  return made;
}

}  // namespace clutchward::quality_test
