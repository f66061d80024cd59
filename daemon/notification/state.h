// The announcer's parts and how they hang together: ledgers by cabinet, the gathering, the outbox.
// Private to this room.
#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "notification/announcer.h"
#include "notification/flood.h"
#include "notification/ledger.h"
#include "notification/outbox.h"

namespace clutchward {

// An alarm to be told loudly to some contacts, decided in one call.
struct Ring {
  AlarmKey key;
  std::vector<AlarmEvent> events;
  Reason reason = Reason::raised;
  std::string by;
  std::vector<std::string> contacts;
  int reminder = 0;
  bool held = false;  // it waited for a flood's list
};
using Rings = std::vector<Ring>;

// The alarms of one call's rings as they stand, each cabinet asked once.
struct Views {
  std::map<std::string, std::vector<AlarmView>> cabinets;
  std::map<AlarmKey, AlarmView> alarms;
};

// What one contact is told in one call.
struct Bundle {
  std::vector<const Ring*> rings;
  std::vector<const Quiet*> news;
  Listing listing = Listing::none;
  Wall flood_since{};
  std::deque<Ring> own;  // those that were held, with what `rings` and `news` then point to
  std::deque<Quiet> own_news;

  bool empty() const { return rings.empty() && news.empty() && listing != Listing::over; }
};
using Bundles = std::map<std::string, Bundle>;  // by contact

// What one call has decided, to be delivered at its end.
struct Decided {
  std::map<std::string, Rings> rings;  // by cabinet
  std::set<std::string> at_once;       // cabinets whose gathered announcements wait no longer

  void add(Ring ring) { rings[ring.key.cabinet].push_back(std::move(ring)); }
};

// What waits for one contact's quiet hours to end, or for his hours to begin. Not kept: the ledgers
// hold it.
struct HeldForHours {
  std::set<AlarmKey> alarms;
  std::set<std::string> news;  // cabinets
  Steady due{};                // looked at then
  bool empty() const { return alarms.empty() && news.empty(); }
};

struct Announcer::State {
  State(const Settings& with, const Zone& at) : settings(with), zone(at), steps(steps_of(with)) {
    settings.forget_batches();
  }

  // -- tell.cpp: what an event means for those who are told
  void note(const AlarmEvent& event, bool snoozed_before, const AlarmLookup& lookup, Moment now,
            Decided& decided);
  void announce(Episode& episode, const AlarmEvent& event, const AlarmView& view, Moment now,
                Decided& decided);
  void pass_on(Episode& episode, const AlarmEvent& event, const AlarmView& view, Moment now,
               Decided& decided);
  // `stands`: see write_quiet().
  void tell_quietly(const Episode& episode, const AlarmEvent& event, const AlarmView& view,
                    const std::vector<std::string>& next, Moment now,
                    const std::optional<AlarmView>& stands = std::nullopt);
  void release(const std::string& cabinet, const AlarmLookup& lookup, Moment now, Decided& decided);
  AlarmView view_of(const AlarmEvent& event, const AlarmLookup& lookup) const;

  // -- escalation.cpp: what time brings
  void fire(const std::string& cabinet, const AlarmLookup& lookup, Moment now, Decided& decided);
  void fire_reminder(Episode& episode, const AlarmView& view,
                     const std::vector<std::string>& reminded, Moment now, Decided& decided);
  void note_report(const Notification& note, const DeliveryReport& report,
                   const AlarmLookup& lookup, Moment now, Decided& decided);

  // -- deliver.cpp: from what is to be told to messages in the outbox
  void deliver(Decided decided, const AlarmLookup& lookup, Moment now);
  void take_gathered(const std::string& cabinet, const AlarmLookup& lookup, Moment now,
                     Rings& rings);
  void flush_if_due(const AlarmLookup& lookup, Moment now);
  void send(const Rings& rings, const std::vector<Quiet>& news, const AlarmLookup& lookup,
            Moment now);
  void send(const Bundles& bundles, const Views& views, Moment now,
            std::map<std::string, Urgency>& told);
  void look(Views& views, const AlarmKey& key, const AlarmEvent& event, const AlarmLookup& lookup);
  void complete(Telling& telling, const Views& views, Moment now);
  void note_told(const std::string& contact, const std::vector<AlarmKey>& alarms, Urgency urgency,
                 Moment now);
  void share_steps(const Rings& rings, const Views& views, Moment now);
  // Puts reminders off that a message just made has spoken for; lets episodes go that are over.
  void settle(const Rings& rings, const std::map<std::string, Urgency>& told,
              const AlarmLookup& lookup, Moment now);

  // -- post.cpp
  // Without an alarm behind it, to one escalation step, or the first after it of which somebody is
  // there. False: nobody.
  bool tell_step(const Notification& note, std::size_t step, Moment now);
  // The channels that a message of that urgency goes by; `about`: the alarm's of a quiet word.
  std::vector<std::size_t> channels_for(const std::string& contact, Urgency urgency,
                                        Priority about = Priority::low) const;
  // One message a channel that takes it, not before `due`.
  void post(const Notification& note, const std::string& contact,
            std::optional<std::size_t> next_step, Moment now,
            std::optional<Steady> due = std::nullopt);
  void post_to(const Notification& note, const std::string& contact, std::size_t channel,
               std::optional<std::size_t> next_step, Moment now,
               std::optional<Steady> due = std::nullopt);

  // -- fold.cpp
  // Whether the alarm's cause is told, or in somebody's hands, and as urgent as the alarm itself.
  bool is_told_by_cause(const AlarmView& view, const AlarmLookup& lookup) const;
  void fold(Episode& episode, Moment now);
  // A cause is told from now on: what follows from it and was told before is quiet.
  void fold_consequences(const AlarmLookup& lookup, Moment now);
  // A cause is over: what still rings without it is told.
  void unfold(const AlarmLookup& lookup, Moment now, Decided& decided);
  void unfold_one(Episode& episode, const AlarmLookup& lookup, Moment now, Decided& decided);

  // -- hours.cpp
  Duty duty(Moment now) const { return {settings, zone, now}; }
  // Whom the steps due by now, or the next one of `among`, call; who is to be told later is held.
  std::vector<std::string> call_due(Episode& episode, const AlarmView& view, Reason reason,
                                    Moment now);
  std::vector<std::string> call_next(Episode& episode, const Steps& among, const AlarmView& view,
                                     Reason reason, const std::string& by, Moment now);
  std::vector<std::string> take_called(Episode& episode, const AlarmView& view,
                                       const Called& called, Reason reason, const std::string& by,
                                       Moment now);
  // Of those who hear reminders, who may be reminded now.
  std::vector<std::string> remindable(Episode& episode, const AlarmView& view,
                                      const std::vector<std::string>& reminded, Moment now,
                                      Decided& decided);
  void hold_for_hours(Episode& episode, Episode::Held held, Moment now);
  // Takes those out of `contacts` who are to hear of it later.
  void hold_news_for_hours(const Quiet& quiet, const AlarmView& view,
                           std::vector<std::string>& contacts, Moment now);
  void release_hours(const AlarmLookup& lookup, Moment now);
  void release_hours_of(const std::string& contact, HeldForHours& waits, Rings& list,
                        std::vector<Quiet>& news, const AlarmLookup& lookup, Moment now);
  void move_to_hours(const std::string& contact, Flood& flood, Moment now);
  std::optional<Steady> next_hours() const;

  // -- hold.cpp: floods
  void hold_back(const std::string& contact, Bundle& bundle, Views& views,
                 const AlarmLookup& lookup, Moment now);
  void keep_for(const std::string& contact, Flood& flood, const Ring& ring);
  void take_held(const std::string& contact, bool high_only, Bundle& bundle, Views& views,
                 const AlarmLookup& lookup);
  void take_held_news(const std::string& contact, Bundle& bundle);
  void release_held(const AlarmLookup& lookup, Moment now);
  void find_held();  // after a restart
  std::optional<Steady> next_release() const;
  void tell_chatter(const Episode& episode, const AlarmView& view, Moment now);

  // -- keep.cpp
  std::vector<Change> take_changes(Moment now);
  void restore(const std::vector<std::pair<std::string, Tree>>& kept, Wall saved_wall, Moment now);

  // Marks a ledger as changed and puts its deadline in order; one that is empty goes.
  void touched(const std::string& cabinet);
  void reschedule(const std::string& cabinet, CabinetLedger& ledger);
  void open_gather(const std::string& cabinet, Moment now);
  void close_gather(const std::string& cabinet);
  Episode* find(const AlarmKey& key);
  const std::vector<ChannelSettings>& channels_of(const std::string& contact) const;
  Manner manner(Moment now) const { return {settings, zone, now.wall}; }

  Settings settings;
  Zone zone;
  Steps steps;
  std::map<std::string, CabinetLedger> ledgers;
  std::set<std::pair<Steady, std::string>> deadlines;
  std::set<std::string> gathering;  // cabinets with something that waits for gather_due
  std::optional<Steady> gather_due;
  std::map<std::string, Flood> floods;  // by contact
  bool floods_changed = false;
  std::map<std::string, HeldForHours> hours;  // by contact
  Outbox outbox;
  std::uint64_t version = 0;      // changes with every ledger
  std::uint64_t last_number = 0;  // of messages; never used twice
  std::set<std::string> changed;  // cabinets
  std::set<std::string> stored;   // cabinets whose ledger the kept state holds
  bool gather_changed = false;
  bool number_changed = false;
};

}  // namespace clutchward
