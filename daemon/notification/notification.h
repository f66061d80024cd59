// One message owed to one contact over one of its channels, and what became of it. The text is
// final when it is made: channels carry it, they do not decide.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "alarm/event.h"
#include "base/time.h"

namespace clutchward {

enum class Urgency : std::uint8_t { quiet, low, medium, high };
inline constexpr std::array<std::string_view, 4> kUrgencyNames = {"quiet", "low", "medium", "high"};
std::string_view name_of(Urgency urgency);
Urgency urgency_of(Priority priority);

// Addresses at which the page lets the reader answer; "" where there is none. Made when the message
// is sent, not when it is owed: they are signed by the key of the day.
struct MessageLinks {
  std::string acknowledge;
  std::string snooze;
  std::string pass_on;
  bool in_text = false;  // they can be reached from outside, so a mail shows them
  std::string reply_to;  // the mail address that a reply does it by; "" : none
  bool operator==(const MessageLinks&) const = default;
};

struct Notification {
  std::string id;  // never changes over retries: webhook-id, Message-ID
  std::string contact;
  int channel = 0;  // index into the contact's channels
  Urgency urgency = Urgency::medium;
  std::string first_line;  // plain ASCII, at most 80 characters
  std::string message;     // the whole text, lines of plain UTF-8, "\n" ends
  std::string episode;     // of the alarm in the first line; "" for a test or a service message
  std::string thread;      // one alarm's mails hang together under it
  AlarmKey subject;        // the alarm of the first line
  std::vector<AlarmEvent> events;
  Wall made_at{};
  MessageLinks links;
  std::string answers;  // the id of the mail that this one answers, "" : none
  // Why an alarm is told, a word of kReasonNames or "news"; "" where no alarm stands behind it.
  std::string_view reason{};
  // Of a quiet word: how urgent the alarm was; it goes by the channels that took that. Not kept: it
  // has no meaning past the making of the message.
  Priority about = Priority::low;
  bool operator==(const Notification&) const = default;
};

// Of the message of that id, as its maker counted it; 0 where the id is none of ours.
std::uint64_t number_of_message(std::string_view id);
// What sort of message it is, in one word: its reason, else "service", "chatter", "flood_over",
// "daily", "tasks", "test" or "answer".
std::string_view sort_of(const Notification& note);
// Whether messages of that sort tell of alarms, and not of the watch or the day.
bool is_about_alarms(std::string_view sort);

enum class Outcome : std::uint8_t {
  delivered,
  try_again,  // time-out, refused connection, 4xx of SMTP, 5xx/429 of HTTP
  failed      // will not work by trying again soon: bad recipient, 4xx of HTTP, bad configuration
};

struct DeliveryReport {
  std::string id;
  Outcome outcome = Outcome::delivered;
  std::string detail;               // the last line the other side said, printable
  std::optional<Span> retry_after;  // asked for by the other side
  bool operator==(const DeliveryReport&) const = default;
};

}  // namespace clutchward
