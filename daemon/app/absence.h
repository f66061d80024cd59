// Was nobody watching before this start? From the last sign of life of the run before and the clock
// of this one. A machine without a clock of its own starts in the past: nothing is said before the
// time is known. It reads no clock and tells nobody.
#pragma once

#include <optional>

#include "base/time.h"

namespace clutchward {

struct Absence {
  Wall from{};   // the last sign of life before
  Wall until{};  // this start
  bool operator==(const Absence&) const = default;
};

class AbsenceLook {
 public:
  // Shorter is a restart or a reboot. Signs of life are a few minutes apart (our own choice).
  static constexpr Span kTold = std::chrono::minutes{10};
  // A clock that goes on where the power cut left it is set forward once the network is back; later
  // it is somebody's hand (our own choice).
  static constexpr Span kMayStillBeSet = std::chrono::minutes{30};

  // `last`: none where nobody has ever watched.
  AbsenceLook(std::optional<Wall> last, Steady started) : last_(last), started_(started) {}

  // Each round: the absence, once. `was_set`: the time service has set the clock since boot.
  std::optional<Absence> look(Moment now, bool was_set);
  // Whether there is anything left to look for.
  bool done() const { return !last_; }

 private:
  std::optional<Wall> last_;
  Steady started_;
};

}  // namespace clutchward
