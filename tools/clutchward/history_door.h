// The history as the keeper's command opens it: the daemon's own or any other file, to read.
#pragma once

#include <string>

#include "store/history_file.h"

namespace clutchward {

// Opens `file`, or the history of the daemon whose state lies in `state` ("" : where it usually
// does), which is first asked to write what it still has in memory; where none runs the file is as
// new as it will be. `path` is what was opened, or not. 0, or the exit code after the complaint has
// been written.
int open_history(const std::string& file, const std::string& state, HistoryFile& history,
                 std::string& path);

}  // namespace clutchward
