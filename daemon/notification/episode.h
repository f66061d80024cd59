// One alarm as it has been announced: to whom, how far the escalation has come, what rings next.
// Knows people and times only; the alarm itself is looked up.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "alarm/event.h"
#include "cabinet/settings.h"
#include "notification/chatter.h"
#include "notification/duty.h"
#include "notification/kept.h"
#include "notification/message.h"

namespace clutchward {

// The escalation's steps with the last word at their end.
using Steps = std::vector<EscalationStep>;
// Those of the configuration, and past the last one, where nobody has answered, everyone.
Steps steps_of(const Settings& settings);

struct Episode {
  struct Told {
    std::string contact;
    bool lately = true;  // since the last announcement: only these are reminded
    bool operator==(const Told&) const = default;
  };
  // How a contact was told over one channel: first and last, and what became of the last.
  struct Attempt {
    std::string contact;
    int channel = 0;
    std::string way;  // "webhook", "email"
    Wall first_at{};
    Wall at{};  // made_at of the last message
    std::optional<Wall> taken_at;
    bool failed = false;
    std::string last_answer;
    bool operator==(const Attempt&) const = default;
  };

  // What a contact has still to be told of it: with the next list of a flood, or when his quiet
  // hours end.
  struct Held {
    std::string contact;
    Reason reason = Reason::raised;
    std::string by;
    int reminder = 0;
    bool hours = false;  // for the end of quiet hours, or the beginning of hours
    bool operator==(const Held&) const = default;
  };

  AlarmKey key;
  std::string episode;
  AlarmEvent last_event;  // the last that was loud
  bool running = false;   // announced, and still to be answered
  bool on_hold = false;   // something fell due while somebody attended
  bool folded = false;    // its cause is told in its place; looked at again at next_reminder
  Steady announced_at{};
  std::size_t steps_told = 0;
  int reminders = 0;
  std::optional<Steady> next_reminder;
  std::vector<Told> told;
  std::vector<std::string> passed_by;   // they passed it on: no reminders for them
  bool end_told = false;                // that nobody is left to pass it on to
  std::vector<AlarmEvent> gathered;     // announcements that wait for others to go with them
  std::optional<AlarmEvent> held_loud;  // to be announced when attending ends
  std::vector<AlarmEvent> held_quiet;
  std::vector<Attempt> attempts;
  std::vector<Held> held_for;
  Chatter chatter;
  bool operator==(const Episode&) const = default;

  // The announcement begins: step 1 again, no reminder sent, nobody has passed it on.
  void start(Priority priority, std::optional<Wall> turns_high_at, Moment now);
  void stop();

  // Puts an announcement into the gathering; the oldest go past a handful of them.
  void gather(const AlarmEvent& event);
  // True while something of it is still to be told, whatever became of the alarm.
  bool waits() const {
    return !gathered.empty() || held_loud || !held_quiet.empty() || !held_for.empty();
  }
  // A newer word for the same contact takes the place of what is held for him already.
  void hold_for(Held held);
  // He has been told by now, or need not be any more. False: nothing was held for his hours.
  bool forget_hours(const std::string& contact);

  // When the next step is due; nothing where there is none.
  std::optional<Steady> next_step(const Steps& steps) const;
  // The earlier of next step and next reminder, while running and not on hold.
  std::optional<Steady> next_deadline(const Steps& steps) const;

  // Whom every step due by now calls, each once; the steps count as told. A step of which nobody
  // can be told now calls the next one at once.
  Called take_due_steps(const Steps& steps, const Duty& duty, Priority priority, Moment now);
  // The same for the next step, due or not; nobody where there is none.
  Called take_next_step(const Steps& steps, const Duty& duty, Priority priority);
  // Whether that would call anybody.
  bool somebody_left(const Steps& steps, const Duty& duty, Priority priority) const;

  std::vector<std::string> reminded() const;       // who hears reminders
  std::vector<std::string> told_contacts() const;  // everyone who was told of the episode

  void note_told(const std::string& contact);
  void note_attempt(const std::string& contact, int channel, std::string_view way, Wall at);
  Attempt* attempt(const std::string& contact, int channel);
};

// Between two reminders, by how many have been sent: high every 3 min, after the tenth every 10
// min; medium hourly; low never (alarm-semantics, section 8).
std::optional<Span> reminder_interval(Priority priority, int sent);

// Nothing of the episode is left that anyone could ask about.
bool is_over(const Episode& episode, const AlarmView& view);

void add_contact(std::vector<std::string>& contacts, const std::string& contact);

Tree tree_of(const Episode& episode, const kept::Clocks& clocks);
// Nothing where the tree is no episode.
std::optional<Episode> episode_of(const Tree& tree, const kept::Clocks& clocks);

}  // namespace clutchward
