// One contact's stream of alarms: whether it has become a flood, what is held for the next list,
// and when that list is due (alarm-semantics, section 8). Counts and times only; it knows no alarm.
#pragma once

#include <deque>
#include <optional>
#include <set>
#include <string>

#include "notification/kept.h"

namespace clutchward {

// More than kFloodBegins announced in kFloodWindow is a flood, fewer than kFloodEnds ends it
// (ISA-18.2-2016 16.4.4 as a secondary article gives it).
inline constexpr std::size_t kFloodBegins = 10;
inline constexpr std::size_t kFloodEnds = 5;
inline constexpr Span kFloodWindow = std::chrono::minutes{10};
// In a flood high ones go at once, those within the next half second together (our own choice): a
// storm of hundreds is a handful of messages, and nobody can tell the half second.
inline constexpr Span kHighApart = std::chrono::milliseconds{500};
// In a flood reminders of high ones go along with any high message, at the latest after the time
// between two reminders.
inline constexpr Span kRemindersApart = std::chrono::minutes{3};

struct Flood {
  // The newest announcements, as many as it takes to tell whether a flood begins or ends.
  std::deque<Steady> announced;
  bool running = false;
  Steady list_due{};
  std::optional<Steady> last_high;
  std::optional<Steady> high_due;  // of high ones that are held
  Wall since{};
  // Alarms held for this contact, cabinets with held news. Not kept here: the ledgers hold them.
  std::set<AlarmKey> held;
  std::set<std::string> held_news;
  bool operator==(const Flood&) const = default;

  // Announcements within the window that ends now.
  std::size_t recent(Steady now) const;
  // Counts announcements. True: with them the flood begins.
  bool count(std::size_t announcements, Moment now);
  // Whether a high alarm may go now; otherwise it is held and high_due says until when.
  bool high_goes(bool reminder, Steady now);
  void hold_high(bool reminder, Steady now);
  void high_told(Steady now);
  // The list is told: the flood goes on for another window, or is over.
  void list_told(Steady now);
  std::optional<Steady> next_deadline() const;
};

Tree tree_of(const Flood& flood, const kept::Clocks& clocks);
Flood flood_of(const Tree& tree, const kept::Clocks& clocks);

}  // namespace clutchward
