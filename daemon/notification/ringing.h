// Who needs ringing now, for whatever rings as long as somebody is needed: a buzzer, a modem.
// Values only.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "alarm/event.h"
#include "notification/notification.h"

namespace clutchward {

// One alarm that was told to one contact and is still to be answered.
struct RingCall {
  std::string contact;
  AlarmKey key;
  std::string episode;
  Urgency urgency = Urgency::medium;
  std::string first_line;
  Wall since{};
  bool operator==(const RingCall&) const = default;
};

// What a ring topic shows.
struct RingPicture {
  // A beat comes so often, although nothing has changed; whoever misses three has lost us.
  static constexpr Span kBeat = std::chrono::seconds{30};
  // Alarms named in one picture; the rest are counted.
  static constexpr std::size_t kAlarms = 20;

  Wall at{};
  std::vector<RingCall> calls;  // the worst first; none: nobody needs ringing
  std::string id;               // of the newest message, to confirm it by
  std::optional<Wall> confirmed_at;
  std::string confirmed_by;
  bool operator==(const RingPicture&) const = default;
};

}  // namespace clutchward
