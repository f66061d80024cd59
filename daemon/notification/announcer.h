// Who hears what and when: announcing, folding, gathering, reminders, escalation, passing on, and
// the outbox that keeps each message until a channel took it (alarm-semantics, section 8).
// Decides only; it sends nothing, reads no clock and keeps no file.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "alarm/event.h"
#include "base/tree.h"
#include "base/zone.h"
#include "cabinet/settings.h"
#include "notification/notification.h"
#include "notification/ringing.h"
#include "notification/told.h"

namespace clutchward {

class Announcer {
 public:
  Announcer(const Settings& settings, const Zone& zone);
  ~Announcer();
  Announcer(const Announcer&) = delete;
  Announcer& operator=(const Announcer&) = delete;

  // A new configuration: running escalations go on with the new steps and contacts.
  void configure(const Settings& settings, const Zone& zone);

  // The alarm events of one turn, in the engine's order. `lookup` tells how the alarms stand after
  // them. Times in the events are wall time; `now` is the turn's.
  void tell(const std::vector<AlarmEvent>& events, const AlarmLookup& lookup, Moment now);

  // Attending has ended at a cabinet: what was held back for it is announced if it is still so.
  void attending_ended(const std::string& cabinet, const AlarmLookup& lookup, Moment now);

  // A fault of the watch itself (queue overflow, state set aside, disk) or its end: told to the
  // first escalation step at once, without an alarm behind it. `urgency` high never waits.
  void tell_service(const std::string& first_line, const std::string& message, Urgency urgency,
                    Moment now);

  // A message of one's own making to some contacts, at once and on no step. Empty id, contact and
  // channel are filled in.
  void tell_people(const std::vector<std::string>& contacts, const Notification& note, Moment now);

  // The same to one contact over one of its channels.
  void tell_over(const std::string& contact, int channel, const Notification& note, Moment now);

  // A test message to one contact, or to everyone where `contact` is empty. False: no such contact,
  // or nobody to tell.
  bool tell_test(const std::string& contact, const std::string& by, Moment now);

  // Why passing on an alarm that stands reaches nobody: every step of which anybody can be told has
  // been. "" : somebody is left.
  std::string end_of_steps(const AlarmView& alarm, Moment now) const;

  // Everything due up to and at `now`: gathered messages, reminders, escalation steps, retries.
  void advance(const AlarmLookup& lookup, Moment now);
  std::optional<Steady> next_deadline() const;

  // Who needs ringing now over a channel that rings: the worst first. `version` changes with it,
  // and more often.
  std::vector<RingCall> calls(const AlarmLookup& lookup, Moment now) const;
  std::uint64_t version() const;

  // Who has been told of an alarm as it stands; none: it is not announced, or has been answered.
  std::optional<WhoKnows> told(const AlarmView& alarm, Moment now) const;

  // What a channel says of a message. Delivered leaves the outbox; try_again waits (1 s doubling to
  // 5 min, or what the other side asked for); failed is told to the next step at once.
  void report(const DeliveryReport& report, const AlarmLookup& lookup, Moment now);

  // Messages to hand to the channels now, each once a try; high urgency first.
  std::vector<Notification> take_due(Moment now);

  // What has changed since the last call and must be durable before take_due's messages are sent.
  // Keys begin with "announcements/" and "outbox/".
  std::vector<Change> take_changes(Moment now);

  // Back to what was kept. `saved_wall` is the wall time of the last save: where the wall clock is
  // not trusted, what was left of each wait then goes on.
  void restore(const std::vector<std::pair<std::string, Tree>>& kept, Wall saved_wall, Moment now);

  // Messages that no channel has taken yet, oldest first: (id, contact, tries, last answer).
  struct Waiting {
    std::string id;
    std::string contact;
    int channel = 0;
    int tries = 0;
    std::string last_answer;
    Wall made_at{};
  };
  std::vector<Waiting> waiting() const;

  // A person throws a waiting message away. False: no such message.
  bool discard(const std::string& id);

  // Messages thrown away because the outbox was full (limits::kOutboxEntries), since the start.
  std::uint64_t dropped() const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace clutchward
