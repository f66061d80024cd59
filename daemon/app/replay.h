// Replay: a recording (JSON Lines, one MQTT message a line) through the same engine on recorded
// time, events out. Sends and publishes nothing, keeps no state, uses constant memory.
#pragma once

#include <iosfwd>
#include <optional>
#include <string>

#include "base/time.h"
#include "base/zone.h"
#include "cabinet/settings.h"

namespace clutchward {

struct ReplayOptions {
  std::string recording;             // a path, for messages; "-" : standard input
  std::optional<Wall> from;          // the watch starts here; lines before it are passed over
  std::string history;               // a new database to write minutes and events to; "" : none
  std::optional<Wall> until;         // the end of time; later lines are passed over
  std::ostream* messages = nullptr;  // whom it would have been told to, a message a line
};

struct ReplayOutcome {
  std::uint64_t lines = 0;
  std::uint64_t faulty = 0;     // lines that are no message: named on `complaints`, passed over
  bool history_failed = false;  // it could not be written; why is among the complaints
};

// Reads `input` (a file descriptor) to its end and writes one event a line to the descriptor
// `output`, in the order in which the engine decides them. Refused commands and lines that are no
// message go to `complaints` with their line number. Throws nothing; a failed read or write ends it
// with a complaint.
ReplayOutcome replay(const Settings& settings, const Zone& zone, const ReplayOptions& options,
                     int input, int output, std::ostream& complaints);

}  // namespace clutchward
