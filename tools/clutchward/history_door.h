// The history as the keeper's command opens it: the daemon's own or any other file, to read.
#pragma once

#include <string>

#include "store/history_file.h"

namespace clutchward {

// `file`, or the history of the daemon whose state lies in `state` ("" : where it usually does).
std::string history_path(const std::string& file, const std::string& state);
// 0, or the exit code after the complaint has been written.
int open_history(const std::string& path, HistoryFile& history);

}  // namespace clutchward
