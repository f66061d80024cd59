// Telling the faults of the watch itself.
#include "app/service_faults.h"

#include "app/log.h"
#include "base/text.h"

namespace clutchward {
namespace {

// The first line of a message is plain ASCII and at most 80 characters (alarm-semantics, section
// 8).
std::string first_line_of(const std::string& what, const std::string& site,
                          const std::string& to_do) {
  std::string line = to_ascii(what + " at " + site + ". " + to_do);
  if (line.size() > 80) line = to_ascii(what + ". " + to_do);
  if (line.size() > 80) line.resize(80);
  return line;
}

}  // namespace

void ServiceFaults::once(const std::string& what, const std::string& detail,
                         const std::string& to_do, Urgency urgency, Moment now) {
  spdlog::error("{}: {}", what, printable(detail, 500));
  announcer_.tell_service(first_line_of(what, site_, to_do), detail + "\n\n" + to_do + ".", urgency,
                          now);
}

void ServiceFaults::begins(const std::string& what, const std::string& detail,
                           const std::string& to_do, Urgency urgency, Moment now) {
  if (!standing_.emplace(what, detail).second) return;
  once(what, detail, to_do, urgency, now);
}

void ServiceFaults::ends(const std::string& what, Moment now) {
  if (standing_.erase(what) == 0) return;
  spdlog::info("over: {}", what);
  announcer_.tell_service(first_line_of("OVER: " + what, site_, "Nothing to do"),
                          "This fault of the watch is over: " + what + ".", Urgency::quiet, now);
}

}  // namespace clutchward
