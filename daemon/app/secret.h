// Reading a password from its file.
#pragma once

#include <string>

namespace clutchward {

// The file's first line; "" for no file or one that cannot be read (the configuration's check has
// seen it readable; a file that went since is noticed when the other side refuses us).
std::string read_secret(const std::string& file);

}  // namespace clutchward
