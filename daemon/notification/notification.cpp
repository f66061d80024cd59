// Names of the urgencies, as they stand in webhooks, mails and the kept state; what an id and a
// thread tell of a message.
#include "notification/notification.h"

#include <charconv>

namespace clutchward {
namespace {

constexpr std::string_view kChatter = "chatter";
constexpr std::string_view kFloodOver = "flood_over";

}  // namespace

std::string_view name_of(Urgency urgency) {
  return kUrgencyNames[static_cast<std::size_t>(urgency)];
}

Urgency urgency_of(Priority priority) {
  switch (priority) {
    case Priority::low:
      return Urgency::low;
    case Priority::medium:
      return Urgency::medium;
    case Priority::high:
      return Urgency::high;
  }
  return Urgency::high;
}

// "20260301T021400000Z-17-setter-a"
std::uint64_t number_of_message(std::string_view id) {
  std::uint64_t number = 0;
  const std::size_t dash = id.find('-');
  if (dash == id.npos) return 0;
  const auto rest = id.substr(dash + 1);
  if (std::from_chars(rest.data(), rest.data() + rest.size(), number).ec != std::errc()) return 0;
  return number;
}

std::string_view sort_of(const Notification& note) {
  if (!note.reason.empty()) return note.reason;
  if (note.thread.starts_with("chatter/")) return kChatter;
  if (note.thread == "flood") return kFloodOver;
  for (const std::string_view sort : {"daily", "tasks", "test", "answer"})
    if (note.thread == sort) return sort;
  return "service";
}

bool is_about_alarms(std::string_view sort) {
  for (const std::string_view other : {"daily", "tasks", "test", "answer", "service"})
    if (sort == other) return false;
  return true;
}

}  // namespace clutchward
