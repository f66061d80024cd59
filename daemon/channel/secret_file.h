// Secrets stand in files of their own and are read anew for each message, so that a changed secret
// holds without a restart. What is read never goes into a log, a detail or an argument list.
#pragma once

#include <string>
#include <vector>

#include "base/result.h"

namespace clutchward {

// The lines of the file that are not blank, without blanks at their ends: at most 8 lines and 4
// KiB. The refusal names the file and what is wrong with it ("…: no such file or directory").
Result<std::vector<std::string>> read_secret_lines(const std::string& path);

// The first line as it stands (a password may begin or end with a blank), without its line end.
Result<std::string> read_password(const std::string& path);

}  // namespace clutchward
