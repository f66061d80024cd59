// Reading a password from its file.
#include "app/secret.h"

#include <fstream>

namespace clutchward {

std::string read_secret(const std::string& file) {
  std::string line;
  if (file.empty()) return line;
  std::ifstream in(file);
  std::getline(in, line);
  while (!line.empty() && (line.back() == '\r' || line.back() == '\n')) line.pop_back();
  return line;
}

}  // namespace clutchward
