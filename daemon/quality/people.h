// What each person was told: messages (each a ring of the phone, whatever the number of channels),
// and alarms as the published measures count them, each annunciation once however often a reminder
// repeats it.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "notification/notification.h"
#include "quality/load.h"

namespace clutchward {

struct PersonFigures {
  std::string contact;
  std::uint64_t messages = 0;                 // about alarms, of any urgency but quiet
  std::array<std::uint64_t, 4> by_urgency{};  // quiet, low, medium, high
  LoadFigures alarms;
  // A history's only: of the watch itself and the day (service, test, tasks, daily line), and those
  // that no channel is known to have delivered. Neither is counted above.
  std::uint64_t others = 0;
  std::uint64_t undelivered = 0;
  bool operator==(const PersonFigures&) const = default;
};

// Told loudly: raised, raised again or worsened.
bool is_annunciation(EventKind kind);

class PeopleTally {
 public:
  // In order of time. The same message over a second channel is no second one.
  void take(const Notification& note);
  // One message that is of another sort, or was never delivered.
  void take_other(const std::string& contact) { ++people_[contact].others; }
  void take_undelivered(const std::string& contact) { ++people_[contact].undelivered; }
  std::vector<PersonFigures> figures(Wall from, Wall until) const;  // by name

 private:
  struct Person {
    std::uint64_t messages = 0;
    std::array<std::uint64_t, 4> by_urgency{};
    LoadCount alarms;
    std::uint64_t others = 0;
    std::uint64_t undelivered = 0;
    std::map<AlarmKey, Wall> last_told;  // the newest annunciation of each alarm that was counted
    std::pair<Wall, std::string> last_message;
  };
  std::map<std::string, Person> people_;
};

}  // namespace clutchward
