// Files that the configuration names or consists of. Opens and reads, never writes; a secret's
// content is never kept or shown.
#pragma once

#include <cstddef>
#include <optional>
#include <string>

#include "config/section.h"

namespace clutchward {

struct FileText {
  std::string text;
  std::string why;  // "" : read whole
};
// The whole of a plain file of at most `limit` bytes; else why not ("is a directory").
FileText read_file(const std::string& path, std::size_t limit);

enum class Content : bool { open_to_all, secret };

// The path of a file named in the configuration, resolved against the folder of the file it stands
// in. It must be a plain file, readable and not empty, or that is a fault; a secret that others can
// read is a warning. The path is returned in any case that gave one.
std::optional<std::string> read_file_name(const Field& field, Content content);

}  // namespace clutchward
