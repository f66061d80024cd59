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
  void tell_quietly(const Episode& episode, const AlarmEvent& event, const AlarmView& view,
                    const std::vector<std::string>& next, Moment now);
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
  void note_told(const std::string& contact, const std::vector<AlarmKey>& alarms, Moment now);
  void share_steps(const Rings& rings, const Views& views);
  // Puts reminders off that a message just made has spoken for; lets episodes go that are over.
  void settle(const Rings& rings, const std::map<std::string, Urgency>& told,
              const AlarmLookup& lookup, Moment now);
  // Without an alarm behind it, to one escalation step. False: nobody there.
  bool tell_step(const Notification& note, std::size_t step, Moment now);
  void post_over(const Notification& note, const std::string& contact, int channel,
                 std::optional<std::size_t> next_step, Moment now);
  // One message a channel of the contact.
  void post(const Notification& note, const std::string& contact,
            std::optional<std::size_t> next_step, Moment now);

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
  Outbox outbox;
  std::uint64_t last_number = 0;  // of messages; never used twice
  std::set<std::string> changed;  // cabinets
  std::set<std::string> stored;   // cabinets whose ledger the kept state holds
  bool gather_changed = false;
  bool number_changed = false;
};

}  // namespace clutchward
