// Looks for a zone's file, and for the nearest name where there is none.
#include "config/zone_check.h"

#include <cstdlib>
#include <filesystem>
#include <system_error>

#include "base/zone.h"
#include "config/file_check.h"
#include "config/values.h"

namespace clutchward {

namespace {

namespace fs = std::filesystem;

// The largest zone file has a few kilobytes.
constexpr std::size_t kZoneBytes = 256 * 1024;
// There are about 600 names; a folder with more is none of zones.
constexpr std::size_t kZoneNames = 5'000;

fs::path zone_folder() {
  const char* const named = std::getenv("TZDIR");
  return named != nullptr && *named != '\0' ? named : "/usr/share/zoneinfo";
}

std::vector<std::string> zone_names() {
  std::vector<std::string> names;
  const fs::path folder = zone_folder();
  std::error_code error;
  fs::recursive_directory_iterator entry(folder, error);
  std::size_t seen = 0;
  for (; !error && entry != fs::recursive_directory_iterator(); entry.increment(error)) {
    const std::string name = entry->path().lexically_relative(folder).generic_string();
    if (++seen > kZoneNames) break;
    // Copies of the whole tree under other rules for leap seconds.
    if (name == "posix" || name == "right") entry.disable_recursion_pending();
    // Names of zones begin with a capital; tables and lists beside them do not, or have an ending.
    if (name[0] >= 'A' && name[0] <= 'Z' && name.find('.') == std::string::npos) {
      std::error_code ignored;
      if (entry->is_regular_file(ignored)) names.push_back(name);
    }
  }
  return names;
}

}  // namespace

std::optional<std::string> read_timezone(const Field& field) {
  const std::optional<std::string> name =
      read_text(field, "a time zone such as Europe/Dublin", 100);
  if (!name) return std::nullopt;
  if (*name == "UTC") return name;  // needs no database
  if (is_zone_name(*name)) {
    const FileText file = read_file((zone_folder() / *name).string(), kZoneBytes);
    if (file.why.empty() && file.text.starts_with("TZif")) return name;
  }
  field.fault("a time zone that this machine knows, such as Europe/Dublin" +
              field.faults.did_you_mean(*name, zone_names()));
  return std::nullopt;
}

}  // namespace clutchward
