// The message that the channel tests carry: one alarm of the Saltmere scenario.
#pragma once

#include "notification/notification.h"

namespace clutchward {

inline Notification example_message() {
  Notification message;
  message.id = "20260301T021400-7.mara-1";
  message.contact = "mara";
  message.urgency = Urgency::high;
  message.first_line = "TOO HOT Setter A 39.8 C rising (max 39.5) since 02:14. Open the door";
  message.message = message.first_line +
                    "\n\nNow: 39.8 °C, rising\nLimit: 39.5 °C\nBatch: hens-12, day 9\n"
                    "Take out the eggs' tray & say \"seen\".\n";
  message.episode = "hens-12.high.7";
  message.thread = "20260301T021400-7";
  message.subject = {"setter-a", "hens-12", "high"};
  message.made_at = *parse_rfc3339("2026-03-01T02:14:05.250Z");
  AlarmEvent event;
  event.at = *parse_rfc3339("2026-03-01T02:14:00Z");
  event.key = message.subject;
  event.value = 39800;
  event.limit = 39500;
  event.worst = 39800;
  message.events.push_back(event);
  return message;
}

}  // namespace clutchward
