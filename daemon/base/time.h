// The two kinds of time, kept apart by type. Spans (delays, snoozes, silence) run on a clock that
// never jumps; batch days and daily windows run on wall time. Nothing here reads a clock: a Moment
// is handed in from outside, once a turn.
#pragma once

#include <chrono>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace clutchward {

using Span = std::chrono::milliseconds;

// Boot time. A tag, not a clock: it has no now().
struct BootClock {
  using rep = std::int64_t;
  using period = std::milli;
  using duration = Span;
  using time_point = std::chrono::time_point<BootClock, Span>;
  static constexpr bool is_steady = true;
};

using Steady = BootClock::time_point;
using Wall = std::chrono::sys_time<Span>;

// One instant in both clocks: the only "now" that anyone sees.
struct Moment {
  Steady steady{};
  Wall wall{};
  // False from boot until the wall clock has been set: calendars wait, spans do not.
  bool wall_trusted = true;

  bool operator==(const Moment&) const = default;
};

// "2026-03-01T09:00:00.000Z", always UTC, always milliseconds.
std::string to_rfc3339(Wall time);

// Reads RFC 3339 date-times (offset or Z, fraction of any length rounded half up to milliseconds);
// nothing for anything else, the 30th of February and second 61 included.
std::optional<Wall> parse_rfc3339(std::string_view text);

// The same for the times of a recording: takes also what the stock MQTT command line client writes
// in its JSON ("2026-03-01T09:00:00.000000Z+0000": the offset counts, the Z before it does not).
std::optional<Wall> parse_recorded_time(std::string_view text);

// Reads spans as systemd writes them: "45min", "1h 30min", "2.5h", "90" (seconds). Nothing for
// anything else, negative spans included.
std::optional<Span> parse_span(std::string_view text);

// Writes a span for people and files, largest unit first: "1h 30min", "0s", "250ms".
std::string to_text(Span span);

}  // namespace clutchward
