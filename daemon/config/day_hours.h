// Weekdays, hours and dates as people write them: "mon-fri 08:00-18:00". Text only; none where it
// is anything else.
#pragma once

#include <chrono>
#include <cstdint>
#include <optional>
#include <string_view>

#include "cabinet/contact.h"

namespace clutchward {

// "08:00" as a span from midnight, below 24 h.
std::optional<Span> parse_time_of_day(std::string_view text);

// "mon", "mon-fri", "sat,sun", "fri-mon": bit 0 is Monday.
std::optional<std::uint8_t> parse_days(std::string_view text);

// "22:00-06:30", "mon-fri 08:00-18:00", "sat,sun" (all day), "sat 12:00-24:00".
std::optional<DayHours> parse_day_hours(std::string_view text);

// "2026-07-12"
std::optional<std::chrono::local_days> parse_date(std::string_view text);

}  // namespace clutchward
