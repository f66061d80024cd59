// From arguments to a running daemon: loads, checks, opens the state and hands over.
#pragma once

#include <string>
#include <vector>

#include "app/daemon.h"

namespace clutchward {

// Reads everything and reports every fault on standard error; with `only_check` that is all.
// 0, 78 for a bad configuration, 73 for a state folder that cannot be used.
int start_daemon(const DaemonOptions& options, bool only_check);

}  // namespace clutchward
