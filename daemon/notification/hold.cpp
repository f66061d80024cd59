// Floods: what a contact is told later, in a list, and when. High alarms go at once, those of the
// same half second together; nothing is left out.
#include <algorithm>
#include <set>
#include <utility>

#include "base/text.h"
#include "notification/ladder.h"
#include "notification/state.h"

namespace clutchward {
namespace {

bool rings_high(const AlarmView& view) { return rings(view) && view.priority == Priority::high; }

// How many alarms are announced in it, each once. A reminder announces nothing.
std::size_t announcements(const Bundle& bundle) {
  std::set<AlarmKey> alarms;
  for (const Ring* ring : bundle.rings)
    if (ring->reason != Reason::reminder) alarms.insert(ring->key);
  return alarms.size();
}

// Up, so that it would have been enough: to the tenth of a degree or percent.
Milli rounded_up(Milli value) { return (value / 100 + 1) * 100; }

}  // namespace

void Announcer::State::hold_back(const std::string& contact, Bundle& bundle, Views& views,
                                 const AlarmLookup& lookup, Moment now) {
  const std::size_t fresh = announcements(bundle);
  const auto known = floods.find(contact);
  if (fresh == 0 && (known == floods.end() || !known->second.running)) return;
  Flood& flood = floods[contact];
  floods_changed = true;
  const bool begins = flood.count(fresh, now);
  if (!flood.running) return;
  const auto is_high = [&](const Ring* ring) { return rings_high(views.alarms.at(ring->key)); };
  if (begins) {
    bundle.listing = Listing::begins;
    bundle.flood_since = flood.since;
    if (std::any_of(bundle.rings.begin(), bundle.rings.end(), is_high)) flood.high_told(now.steady);
    return;
  }
  const bool high_goes =
      std::any_of(bundle.rings.begin(), bundle.rings.end(), [&](const Ring* ring) {
        return is_high(ring) && flood.high_goes(ring->reason == Reason::reminder, now.steady);
      });
  std::vector<const Ring*> kept;
  for (const Ring* ring : std::exchange(bundle.rings, {})) {
    if (is_high(ring) && high_goes) {
      kept.push_back(ring);
      continue;
    }
    if (is_high(ring)) flood.hold_high(ring->reason == Reason::reminder, now.steady);
    keep_for(contact, flood, *ring);
  }
  bundle.rings = std::move(kept);
  for (const Quiet* quiet : std::exchange(bundle.news, {})) {
    ledgers[quiet->event.key.cabinet].hold_news(*quiet, contact);
    flood.held_news.insert(quiet->event.key.cabinet);
    touched(quiet->event.key.cabinet);
  }
  if (!high_goes) return;
  take_held(contact, /*high_only=*/true, bundle, views, lookup);
  flood.high_told(now.steady);
}

void Announcer::State::keep_for(const std::string& contact, Flood& flood, const Ring& ring) {
  Episode* episode = find(ring.key);
  if (episode == nullptr) {
    // Gone with its batch or rule between decision and message: kept until it has been told.
    Episode fresh;
    fresh.key = ring.key;
    fresh.last_event = ring.events.back();
    episode = &(ledgers[ring.key.cabinet].episodes[ring.key] = std::move(fresh));
  }
  episode->hold_for({contact, ring.reason, ring.by, ring.reminder});
  flood.held.insert(ring.key);
  touched(ring.key.cabinet);
}

void Announcer::State::take_held(const std::string& contact, bool high_only, Bundle& bundle,
                                 Views& views, const AlarmLookup& lookup) {
  Flood& flood = floods[contact];
  for (auto next = flood.held.begin(); next != flood.held.end();) {
    const auto current = next++;
    const AlarmKey key = *current;
    Episode* episode = find(key);
    if (episode == nullptr) {
      flood.held.erase(current);
      continue;
    }
    look(views, key, episode->last_event, lookup);
    if (high_only && !rings_high(views.alarms.at(key))) continue;
    flood.held.erase(current);
    auto& held = episode->held_for;
    const auto mine = std::find_if(held.begin(), held.end(), [&](const auto& one) {
      return one.contact == contact && !one.hours;
    });
    if (mine == held.end()) continue;
    // Snoozed since it was held: the snooze's end announces it.
    if (views.alarms.at(key).snoozed_until) {
      held.erase(mine);
      touched(key.cabinet);
      continue;
    }
    bundle.own.push_back(
        {key, {episode->last_event}, mine->reason, mine->by, {contact}, mine->reminder, true});
    bundle.rings.push_back(&bundle.own.back());
    held.erase(mine);
    touched(key.cabinet);
  }
}

void Announcer::State::take_held_news(const std::string& contact, Bundle& bundle) {
  for (const std::string& cabinet : std::exchange(floods[contact].held_news, {})) {
    const auto found = ledgers.find(cabinet);
    if (found == ledgers.end()) continue;
    for (Quiet& quiet : found->second.held_news) {
      if (std::erase(quiet.contacts, contact) == 0) continue;
      bundle.own_news.push_back(quiet);
      bundle.news.push_back(&bundle.own_news.back());
    }
    std::erase_if(found->second.held_news,
                  [](const Quiet& quiet) { return quiet.contacts.empty(); });
    touched(cabinet);
  }
}

void Announcer::State::release_held(const AlarmLookup& lookup, Moment now) {
  Bundles bundles;
  Views views;
  for (auto& [contact, flood] : floods) {
    const auto due = flood.next_deadline();
    if (!due || *due > now.steady) continue;
    floods_changed = true;
    Bundle& bundle = bundles[contact];
    const bool list = flood.list_due <= now.steady;
    const Presence presence = duty(now).standing(contact).presence;
    const bool asleep = presence == Presence::quiet || presence == Presence::off;
    take_held(contact, !list || asleep, bundle, views, lookup);
    if (!list) {
      flood.high_told(now.steady);
      continue;
    }
    if (asleep) {
      move_to_hours(contact, flood, now);
      flood.list_told(now.steady);
      continue;
    }
    take_held_news(contact, bundle);
    bundle.flood_since = flood.since;
    flood.list_told(now.steady);
    bundle.listing = flood.running ? Listing::goes_on : Listing::over;
  }
  if (bundles.empty()) return;
  std::map<std::string, Urgency> told;
  send(bundles, views, now, told);
  Rings settled;
  for (const auto& [contact, bundle] : bundles)
    settled.insert(settled.end(), bundle.own.begin(), bundle.own.end());
  settle(settled, told, lookup, now);
}

void Announcer::State::find_held() {
  const auto holder = [&](const std::string& contact) -> Flood& {
    Flood& flood = floods[contact];
    if (!flood.running) {  // held for a flood that the kept state does not know: told with the next
      flood.running = true;
      flood.list_due = Steady{};
    }
    return flood;
  };
  for (const auto& [cabinet, ledger] : ledgers) {
    for (const auto& [key, episode] : ledger.episodes)
      for (const auto& held : episode.held_for)
        (held.hours ? hours[held.contact].alarms : holder(held.contact).held).insert(key);
    for (const Quiet& quiet : ledger.held_news)
      for (const std::string& contact : quiet.contacts) holder(contact).held_news.insert(cabinet);
    for (const Quiet& quiet : ledger.hours_news)
      for (const std::string& contact : quiet.contacts) hours[contact].news.insert(cabinet);
  }
}

std::optional<Steady> Announcer::State::next_release() const {
  std::optional<Steady> first;
  for (const auto& [contact, flood] : floods)
    if (const auto due = flood.next_deadline(); due && (!first || *due < *first)) first = due;
  return first;
}

void Announcer::State::tell_chatter(const Episode& episode, const AlarmView& view, Moment now) {
  const Manner how = manner(now);
  const Chatter& chatter = episode.chatter;
  const std::string where = place(view, how);
  Notification note;
  note.urgency = Urgency::low;
  note.subject = view.key;
  note.thread = "chatter/" + view.key.cabinet + "/" + view.key.alarm;
  note.first_line = fitted({{"COMES AND GOES ", " " + plain(view.key.alarm) + ", " +
                                                    std::to_string(chatter.raised.size()) +
                                                    " times. Widen deadband or delay"},
                            {"COMES AND GOES ", " " + plain(view.key.alarm)}},
                           where);
  note.message = where + ": the alarm \"" + printable(view.key.alarm) + "\" was raised " +
                 std::to_string(chatter.raised.size()) + " times in " +
                 to_text(chatter.raised.back() - chatter.raised.front()) + ".\n";
  const Span longest = std::chrono::ceil<std::chrono::minutes>(chatter.longest + Span{1});
  note.message += "What would have stopped it: a delay of " + to_text(longest) +
                  " (it never stood longer than " + to_text(chatter.longest) + ")";
  if (chatter.swing > 0)
    note.message += ", or a deadband of " + milli_text(rounded_up(chatter.swing), 1) +
                    (view.quantity == Quantity::humidity ? " %" : " °C") +
                    " (it came back by at most " + milli_exact(chatter.swing) + ")";
  note.message += ".\nThis is no alarm. A value that jumps may also be a loose probe.\n";
  tell_step(note, 0, now);
}

}  // namespace clutchward
