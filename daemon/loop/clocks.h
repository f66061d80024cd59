// The real clocks: the only file whose functions read one. Everyone else is handed a Moment.
#pragma once

#include <chrono>
#include <optional>

#include "base/time.h"

namespace clutchward {

// Time since boot, suspends included (CLOCK_BOOTTIME), and since 1970 in UTC (CLOCK_REALTIME), to
// the millisecond below. Cannot fail; safe from any thread.
Steady steady_now() noexcept;
Wall wall_now() noexcept;
// Both, with the word of whoever watches over the wall clock.
Moment now(bool wall_trusted) noexcept;
// Time since boot, fine enough for pauses below a millisecond.
std::chrono::microseconds fine_now() noexcept;

// When this program was built: no true clock shows less.
Wall build_time();
// Whether the system's time service says that it has set the clock since boot.
bool clock_was_set();

// A machine without a battery for its clock starts somewhere in the past until the time service has
// set it. Not trusted: a clock that nobody vouches for and that shows less than the program's build
// or than the last time that was saved.
bool wall_is_trusted(Wall now, std::optional<Wall> last_saved, bool was_set, Wall built);
bool wall_is_trusted(std::optional<Wall> last_saved);

// Notices that the wall clock was set rather than slewed.
class StepDetector {
 public:
  // A time service slews small errors at half a millisecond a second and steps larger ones; two
  // seconds are well past what slewing does between two turns, and no keeper minds less.
  static constexpr Span kStep{2000};

  // Once a turn. The size of a step since the last turn, forward positive, or none.
  std::optional<Span> turn(const Moment& moment);

 private:
  std::optional<Span> offset_;
};

}  // namespace clutchward
