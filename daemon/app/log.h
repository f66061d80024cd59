// Where the daemon's lines go: standard error, with the journal's priority marks when it listens
// there. Text from outside is escaped by whoever hands it in (printable()).
#pragma once

#include <spdlog/spdlog.h>

namespace clutchward {

// To be called once, before any line is logged.
void start_log();

}  // namespace clutchward
