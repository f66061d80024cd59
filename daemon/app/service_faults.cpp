// Telling the faults of the watch itself.
#include "app/service_faults.h"

#include "app/log.h"
#include "base/text.h"

namespace clutchward {
namespace {

// What was told once is shown for a day: whoever looks each morning has seen it.
constexpr Span kOnceShown = std::chrono::hours{24};
constexpr std::size_t kOnce = 20;

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

void ServiceFaults::tell(const WatchFault& fault, const std::string& to_do, Urgency urgency,
                         Moment now) {
  spdlog::error("{}: {}", fault.what, printable(fault.detail, 500));
  announcer_.tell_service(first_line_of(fault.what, site_, to_do),
                          fault.detail + "\n\n" + to_do + ".", urgency, now);
}

void ServiceFaults::once(const std::string& what, const std::string& detail,
                         const std::string& to_do, Urgency urgency, Moment now) {
  once_.push_back({{what, detail, now.wall, Shown::as_fault}, now.steady});
  if (once_.size() > kOnce) once_.pop_front();
  tell(once_.back().fault, to_do, urgency, now);
}

void ServiceFaults::begins(const std::string& what, const std::string& detail,
                           const std::string& to_do, Urgency urgency, Moment now, Shown shown) {
  const auto [place, fresh] = standing_.try_emplace(what);
  if (!fresh) return;
  place->second = {what, detail, now.wall, shown};
  tell(place->second, to_do, urgency, now);
}

void ServiceFaults::ends(const std::string& what, Moment now) {
  if (standing_.erase(what) == 0) return;
  spdlog::info("over: {}", what);
  announcer_.tell_service(first_line_of("OVER: " + what, site_, "Nothing to do"),
                          "This fault of the watch is over: " + what + ".", Urgency::quiet, now);
}

void ServiceFaults::ends_but(const std::string& start, const std::set<std::string>& still,
                             Moment now) {
  std::vector<std::string> over;
  for (const auto& [what, fault] : standing_)
    if (what.starts_with(start) && !still.contains(what)) over.push_back(what);
  for (const std::string& what : over) ends(what, now);
}

std::vector<WatchFault> ServiceFaults::view(Moment now) const {
  std::vector<WatchFault> faults;
  for (const auto& [what, fault] : standing_) faults.push_back(fault);
  for (const Told& told : once_)
    if (now.steady - told.at < kOnceShown) faults.push_back(told.fault);
  return faults;
}

}  // namespace clutchward
