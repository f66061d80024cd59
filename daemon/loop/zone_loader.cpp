// The C library knows the rules behind the stored transitions too, which readers of the files alone
// do not; so it is asked for its offset at many instants, and each change is found by bisection.
#include "loop/zone_loader.h"

#include <sys/stat.h>
#include <time.h>

#include <algorithm>
#include <cstdlib>
#include <string_view>
#include <utility>
#include <vector>

#include "base/text.h"

namespace clutchward {
namespace {

using Seconds = std::chrono::sys_seconds;

// Behind the first release and beyond the life of the machine.
constexpr Seconds kFirst = std::chrono::sys_days(std::chrono::year(2020) / 1 / 1);
constexpr Seconds kLast = std::chrono::sys_days(std::chrono::year(2060) / 1 / 1);
// The shortest time between two changes is the month that Morocco takes off summer time for Ramadan
// (tz database, from memory); a week never skips one.
constexpr std::chrono::hours kStride{7 * 24};

struct Local {
  long offset;
  std::string abbreviation;
  bool operator==(const Local&) const = default;
};

Local local_at(Seconds time) {
  const time_t seconds = time.time_since_epoch().count();
  tm fields{};
  ::localtime_r(&seconds, &fields);
  return {fields.tm_gmtoff, fields.tm_zone != nullptr ? fields.tm_zone : ""};
}

bool in_database(const std::string& name) {
  const char* const other = std::getenv("TZDIR");
  const std::string path =
      std::string(other != nullptr ? other : "/usr/share/zoneinfo") + "/" + name;
  struct stat about {};
  return ::stat(path.c_str(), &about) == 0 && S_ISREG(about.st_mode);
}

}  // namespace

Result<Zone> load_zone(const std::string& name) {
  // UTC needs no database.
  if (name != "UTC" && (!is_zone_name(name) || !in_database(name)))
    return Refusal{"timezone: no zone \"" + printable(name) +
                   "\" in the system's tz database; expected a name such as Europe/Dublin"};
  ::setenv("TZ", name == "UTC" ? "UTC0" : (":" + name).c_str(), 1);
  ::tzset();
  std::vector<Zone::Change> changes;
  const auto add = [&changes](Seconds from, const Local& local) {
    changes.push_back({Wall(from), std::chrono::seconds(local.offset), local.abbreviation});
  };
  Local before = local_at(kFirst);
  add(kFirst, before);
  for (Seconds low = kFirst; low < kLast;) {
    const Seconds next = std::min(low + kStride, kLast);
    Local after = local_at(next);
    if (after != before) {
      Seconds high = next;
      while (high - low > std::chrono::seconds(1)) {
        const Seconds middle = low + (high - low) / 2;
        (local_at(middle) == before ? low : high) = middle;
      }
      add(high, after);
      before = std::move(after);
    }
    low = next;
  }
  return Zone(name, std::move(changes));
}

}  // namespace clutchward
