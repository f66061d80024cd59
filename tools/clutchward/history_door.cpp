// Says in one place what to do where no history is found.
#include "history_door.h"

#include <sysexits.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <iostream>

#include "control_client.h"
#include "talk.h"

namespace clutchward {

int open_history(const std::string& file, const std::string& state, HistoryFile& history,
                 std::string& path) {
  path = file.empty() ? state_directory(state) + "/history.db" : file;
  if (file.empty()) {
    const auto renewed = ControlClient(state_directory(state)).post("/api/history/commit");
    if (renewed && renewed->status == 503)
      std::cerr << "clutchward: the newest is missing here: " << renewed->body;
  }
  if (::access(path.c_str(), R_OK) != 0)
    return complain(path + ": " + std::strerror(errno) +
                        (errno == ENOENT ? ". Has a history been kept? Give --history FILE or "
                                           "--state DIR if it lies elsewhere."
                                         : ""),
                    errno == EACCES ? EX_NOPERM : EX_NOINPUT);
  if (const auto why = history.open(path, HistoryFile::For::reading))
    return complain(why->why, EX_DATAERR);
  return EX_OK;
}

}  // namespace clutchward
