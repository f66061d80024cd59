// One cell of CSV.
#pragma once

#include <string>
#include <string_view>

namespace clutchward {

// RFC 4180: quoted where it must be. A value that a spreadsheet would take for a formula is quoted
// with an apostrophe before it.
inline std::string csv_cell(const std::string& text) {
  std::string safe = text;
  if (!safe.empty() && std::string_view("=+-@\t").find(safe[0]) != std::string_view::npos)
    safe = "'" + safe;
  if (safe.find_first_of(",\"\r\n") == std::string::npos) return safe;
  std::string out = "\"";
  for (const char c : safe) out += c == '"' ? std::string("\"\"") : std::string(1, c);
  return out + "\"";
}

}  // namespace clutchward
