// Finding the shipped profiles.
#include "app/profile_folders.h"

#include <cstdlib>
#include <filesystem>

namespace clutchward {

std::vector<std::string> profile_folders() {
  namespace fs = std::filesystem;
  if (const char* set = std::getenv("CLUTCHWARD_PROFILES")) return {set};
  std::error_code error;
  if (fs::is_directory(CLUTCHWARD_PROFILES, error)) return {CLUTCHWARD_PROFILES};
  // build/<preset>/ and build/<preset>/tools/ lie below the checkout.
  fs::path folder = fs::read_symlink("/proc/self/exe", error).parent_path();
  for (int up = 0; up < 4 && folder.has_relative_path(); ++up, folder = folder.parent_path())
    if (fs::is_directory(folder / "config/profiles", error))
      return {(folder / "config/profiles").string()};
  return {};
}

}  // namespace clutchward
