// Makes the last state out of what lies in the state folder: checkpoints first, then the journals
// in order up to the first damaged document. It reads only: it changes, moves and deletes nothing,
// so that a crash in the middle of a start costs nothing.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "store/document.h"
#include "store/file_system.h"
#include "store/place.h"

namespace clutchward {

struct Recovered {
  Entries entries;
  // What the journals changed and no checkpoint holds yet.
  ChangeMap unsettled;
  // Of the last turn found; 0 and the epoch where there was none.
  std::uint64_t sequence = 0;
  Wall at{};
  // Journal files read, and the number of the next.
  std::vector<std::string> journals;
  std::uint64_t next_generation = 1;
  // Files to set aside, and leftovers of an interrupted write to remove.
  std::vector<std::string> damaged;
  std::vector<std::string> leftovers;
  // One sentence for each thing a person should know.
  std::vector<std::string> findings;
};

Recovered recover(FileSystem& disk, const Places& places);

}  // namespace clutchward
