// When the watch began by today's clock, beside when it was last seen.
#include "app/absence.h"

namespace clutchward {

std::optional<Absence> AbsenceLook::look(Moment now, bool was_set) {
  if (!last_ || !now.wall_trusted) return std::nullopt;
  const Span running = now.steady - started_;
  const Absence absence{*last_, now.wall - running};
  if (absence.until - absence.from >= kTold) {
    last_.reset();
    return absence;
  }
  if (was_set || running >= kMayStillBeSet) last_.reset();
  return std::nullopt;
}

}  // namespace clutchward
