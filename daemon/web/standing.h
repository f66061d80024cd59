// Who comes first: how a cabinet stands, in the order in which a person should look. Counts nothing
// as fine that is merely unknown.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "engine/brief.h"
#include "engine/view.h"
#include "notification/wording.h"

namespace clutchward {

// Worst first.
enum class Standing : std::uint8_t {
  needs_you,  // an alarm that nobody has taken
  in_hand,    // active, and somebody has acknowledged or snoozed it
  look,       // back in range, but wants a look: latched, or returned and not acknowledged
  no_data,    // nothing fresh to judge by, and no alarm says so (yet)
  pending,    // something is out of range, not yet for long enough
  unwatched,  // deliberately not watched in full: suppressed or out of service
  fine,
  empty,  // no eggs are set, and nothing is wrong
};

Standing standing_of(const AlarmView& alarm);
// The worst of its alarms, of its missing data and of what is not watched.
Standing standing_of(const CabinetView& cabinet, bool linked = true);

// The same of a cabinet in brief, and a cabinet in brief from its view. `linked`: to the broker;
// without it nothing that waits for news counts as fine.
Standing standing_of(const CabinetBrief& brief, bool linked = true);
CabinetBrief brief_of(const CabinetView& cabinet);

// By standing, then priority (high first), then since when (longest first), then id: two calls on
// the same state give the same order.
std::vector<const CabinetView*> worst_first(const std::vector<CabinetView>& cabinets);

// The cabinet's alarms that are not normal, worst first; equal ones in the engine's order.
std::vector<const AlarmView*> alarms_worst_first(const CabinetView& cabinet);

// How many cabinets stand how, and the one sentence of it: "2 of 24 cabinets need you",
// "All 24 cabinets in range". `site` are the alarms of no cabinet.
std::string headline(const std::vector<CabinetView>& cabinets, const std::vector<AlarmView>& site);

struct StandingRank {
  Standing standing;
  int priority;  // 0: high
  Wall since;
  auto operator<=>(const StandingRank&) const = default;
};

// All cabinets, told one after the other, of which a page shows those of some places.
class Roll {
 public:
  void add(const CabinetBrief& brief, bool linked = true);
  std::size_t size() const { return ranked_.size(); }
  Standing worst() const;                                 // of none: unwatched
  std::optional<Wall> newest() const { return newest_; }  // reading
  // As above.
  std::string headline(const std::vector<AlarmView>& site) const;
  // The ids of places `from` to `from` + `most`, the worst first.
  std::vector<std::string> places(std::size_t from, std::size_t most);

 private:
  std::vector<std::pair<StandingRank, std::string>> ranked_;
  std::array<std::size_t, 8> counts_{};  // by standing
  std::optional<Wall> newest_;
};

// "4 s", "12 min", "3 h 20 min", "2 days": how long ago, to read at a glance. Negative is 0 s.
std::string about(Span span);

// "Mara has it since 02:20, rings again 02:50", "Snoozed by Jonas until 02:50", "Nobody has it
// yet"; "" where nothing is to be had. `clock` writes a time as the reader's clock shows it.
template <class Clock>
std::string who_has_it(const AlarmView& alarm, const Clock& clock) {
  const auto name = [](const std::string& by) { return by.empty() ? "somebody" : person(by); };
  if (alarm.state == AlarmState::out_of_service) {
    std::string text = "out of service by " + name(alarm.out_of_service_by);
    if (alarm.out_of_service_until) text += " until " + clock(*alarm.out_of_service_until);
    if (!alarm.out_of_service_why.empty()) text += ": " + alarm.out_of_service_why;
    return text;
  }
  if (alarm.snoozed_until)
    return "snoozed by " + name(alarm.snoozed_by) + " until " + clock(*alarm.snoozed_until);
  if (alarm.acknowledged) {
    std::string text = name(alarm.acknowledged_by) + " has it";
    if (alarm.acknowledged_at) text += " since " + clock(*alarm.acknowledged_at);
    if (alarm.rings_again_at) text += ", rings again " + clock(*alarm.rings_again_at);
    return text;
  }
  if (alarm.active) return "nobody has it yet";
  if (alarm.state == AlarmState::latched) return "to be reset by somebody who has looked";
  if (alarm.state == AlarmState::returned) return "nobody has acknowledged it";
  return {};
}

}  // namespace clutchward
