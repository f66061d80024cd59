// Says in one place what to do where no history is found.
#include "history_door.h"

#include <sysexits.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

#include "control_client.h"
#include "talk.h"

namespace clutchward {

std::string history_path(const std::string& file, const std::string& state) {
  return file.empty() ? state_directory(state) + "/history.db" : file;
}

int open_history(const std::string& path, HistoryFile& history) {
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
