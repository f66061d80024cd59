// The whole text of a message: subject first, then what the keeper needs at the machine, then who
// has been told. Writes; it decides neither who gets it nor when.
#pragma once

#include <string>
#include <vector>

#include "notification/notification.h"
#include "notification/wording.h"

namespace clutchward {

enum class Reason : std::uint8_t {
  raised,
  raised_again,
  worsened,
  escalated,
  passed_on,
  unreachable,
  reminder
};
inline constexpr std::array<std::string_view, 7> kReasonNames = {
    "raised", "raised_again", "worsened", "escalated", "passed_on", "unreachable", "reminder"};
inline constexpr std::string_view kNewsReason = "news";  // beside the reasons: nothing rings for it

// What a message is in a flood of alarms (alarm-semantics, section 8).
enum class Listing : std::uint8_t { none, begins, goes_on, over };

// An alarm that a message is about.
struct Loud {
  AlarmView view;
  std::vector<AlarmEvent> events;  // at least one; the last is what is told
  Reason reason = Reason::raised;
  int reminder = 0;   // the how-manieth
  std::string by;     // who passed it on, or who could not be reached
  bool held = false;  // it waited for a flood's list

  // Whether it may head a loud message. A high one that has come and gone within one turn may; what
  // was held and is over or taken since may not.
  bool calls() const;
};

// What happened to an alarm, for those who know of it. Its words are made when it happens.
struct Quiet {
  AlarmEvent event;
  std::string episode;
  std::string first_line;
  std::string line;
  std::vector<std::string> contacts;
  Priority priority = Priority::low;  // the alarm's
  bool operator==(const Quiet&) const = default;
};

// One message before it is written.
struct Telling {
  std::vector<Loud> loud;  // the worst first: the subject
  std::vector<const Quiet*> quiet;
  std::vector<AlarmView> cabinet;     // every alarm of the subject's cabinet
  std::vector<std::string> tried;     // lines: who was told of the subject before
  std::vector<std::string> told_now;  // contacts that get it together
  // Lines: for whom the reader stands in. He is told where things are, and what first aid is.
  std::vector<std::string> stands_in;
  Listing listing = Listing::none;
  Wall flood_since{};
};

// Everything but id, contact, channel and time. There is at least one thing to tell.
Notification write_message(const Telling& telling, const Manner& manner);

// The end of a flood of which nothing is left to list.
Notification write_flood_over(Wall since, const Manner& manner);

// The words for a quiet event. `next` are the contacts told now (passed_on); `stands` is what of
// the same cabinet and quantity is active beside one that returned: it is not over then.
Quiet write_quiet(const AlarmEvent& event, const AlarmView& view,
                  const std::vector<std::string>& next, const Manner& manner,
                  const AlarmView* stands = nullptr);

// "Mara, Jonas"
std::string people(const std::vector<std::string>& contacts);

}  // namespace clutchward
