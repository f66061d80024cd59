// One recording through one or more configurations side by side, people told included: what each
// would have rung, whom it would have told, and where they differ. Sends and publishes nothing,
// keeps no state; memory grows with the number of alarms and occurrences, not with the recording.
#pragma once

#include <cstdint>
#include <iosfwd>
#include <optional>
#include <string>
#include <vector>

#include "base/zone.h"
#include "cabinet/settings.h"
#include "quality/occurrences.h"
#include "quality/people.h"
#include "quality/tally.h"

namespace clutchward {

// The configurations to play; they must outlive the play.
struct QualitySide {
  std::string name;  // for messages
  const Settings* settings = nullptr;
  const Zone* zone = nullptr;
};

struct QualityPlayOptions {
  std::string recording;      // a path, for messages
  std::optional<Wall> from;   // the watch starts here; lines before it are passed over
  std::optional<Wall> until;  // the end of time; later lines are passed over
  // Somebody acknowledges whatever rings so long after it rang, and resets what is latched so long
  // after it returned. None: only the commands of the recording count.
  std::optional<Span> answer_after;
};

struct QualitySideOutcome {
  TallyFigures alarms;
  std::vector<PersonFigures> people;
  std::uint64_t refused = 0;  // commands of the recording
};

struct QualityPlayed {
  std::uint64_t lines = 0;
  std::uint64_t faulty = 0;    // lines that are no message
  std::uint64_t commands = 0;  // of the recording
  std::optional<Wall> from;    // none: there was no message
  Wall until{};
  std::vector<QualitySideOutcome> sides;
  // Where there are two sides or more: all of them, up to kOccurrencesKept in order of time, and
  // the sums over every one. sums[i] is the first side beside side i + 1.
  std::vector<Occurrence> occurrences;
  std::uint64_t occurrences_left_out = 0;
  std::vector<OccurrenceSums> sums;
};

inline constexpr std::size_t kOccurrencesKept = 10'000;

// Reads `input` (a file descriptor) to its end. Lines that are no message go to `complaints` with
// their number, the first hundred of them.
QualityPlayed play_for_quality(const std::vector<QualitySide>& sides,
                               const QualityPlayOptions& options, int input,
                               std::ostream& complaints);

}  // namespace clutchward
