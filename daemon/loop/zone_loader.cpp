// Asks localtime_r, which knows the rules of every year, and finds each change by halving.
#include "loop/zone_loader.h"

#include <cstdlib>
#include <ctime>
#include <filesystem>

namespace clutchward {
namespace {

constexpr std::time_t kFirst = 1577836800;  // 2020
constexpr std::time_t kLast = 2840140800;   // 2060
constexpr std::time_t kStep = 7 * 86400;    // no zone changes twice within a week

struct Offset {
  long seconds;
  std::string abbreviation;
  bool operator==(const Offset&) const = default;
};

Offset offset_at(std::time_t at) {
  std::tm local{};
  localtime_r(&at, &local);
  return {local.tm_gmtoff, local.tm_zone != nullptr ? local.tm_zone : ""};
}

Zone::Change change_at(std::time_t at) {
  const Offset offset = offset_at(at);
  return {Wall{std::chrono::seconds{at}}, std::chrono::seconds{offset.seconds}, offset.abbreviation};
}

bool exists(const std::string& name) {
  const char* folder = std::getenv("TZDIR");
  std::error_code ignored;
  return name.find("..") == name.npos && !name.starts_with('/') &&
         std::filesystem::is_regular_file(
             std::filesystem::path(folder != nullptr ? folder : "/usr/share/zoneinfo") / name,
             ignored);
}

}  // namespace

Result<Zone> load_zone(const std::string& name) {
  if (name != "UTC" && !exists(name))
    return Refusal{"no time zone \"" + name + "\" on this machine; expected a name such as Europe/Dublin"};
  setenv("TZ", name.c_str(), 1);
  tzset();
  std::vector<Zone::Change> changes{change_at(kFirst)};
  Offset known = offset_at(kFirst);
  for (std::time_t at = kFirst + kStep; at < kLast; at += kStep) {
    const Offset now = offset_at(at);
    if (now == known) continue;
    std::time_t before = at - kStep;
    std::time_t after = at;
    while (after - before > 1) {
      const std::time_t middle = before + (after - before) / 2;
      (offset_at(middle) == known ? before : after) = middle;
    }
    changes.push_back(change_at(after));
    known = now;
  }
  return Zone(name, std::move(changes));
}

}  // namespace clutchward
