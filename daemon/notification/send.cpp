// Messages for what one call has to say: one per contact and channel, into the outbox. Every loud
// message of an alarm passes through send(): rules for floods belong there.
#include <algorithm>
#include <utility>

#include "base/text.h"
#include "notification/ladder.h"
#include "notification/state.h"

namespace clutchward {
namespace {

struct Written {
  std::string contact;
  Notification note;
  std::vector<AlarmKey> alarms;  // those told loudly
};

void add_events(std::vector<AlarmEvent>& events, const std::vector<AlarmEvent>& more) {
  for (const AlarmEvent& event : more)
    if (std::find(events.begin(), events.end(), event) == events.end()) events.push_back(event);
}

// How far the cabinet stands beyond the limits of that ladder: beyond the nearest of them, so that
// its rungs stay together and a cabinet that has a higher rung does not seem less hot for it.
Milli beyond_ladder(const AlarmView& view, const Views& views) {
  Milli most = beyond_limit(view);
  for (const AlarmView& rung : views.cabinets.at(view.key.cabinet))
    if (rung.active && same_ladder(rung, view)) most = std::max(most, beyond_limit(rung));
  return most;
}

// The alarms of a bundle, each once: those that still call first, then the worst. What was held and
// is over or taken since must not head a message.
std::vector<Loud> loud_of(const Bundle& bundle, const Views& views) {
  std::vector<Loud> loud;
  for (const Ring* ring : bundle.rings) {
    const auto same = std::find_if(loud.begin(), loud.end(),
                                   [&](const Loud& one) { return one.view.key == ring->key; });
    if (same == loud.end())
      loud.push_back({views.alarms.at(ring->key), ring->events, ring->reason, ring->reminder,
                      ring->by, ring->held});
    else {
      same->held = same->held && ring->held;
      add_events(same->events, ring->events);
    }
  }
  std::map<AlarmKey, Milli> beyond;
  for (const Loud& one : loud) beyond[one.view.key] = beyond_ladder(one.view, views);
  std::stable_sort(loud.begin(), loud.end(), [&](const Loud& a, const Loud& b) {
    if (a.calls() != b.calls()) return a.calls();
    return worse_apart(a.view, beyond.at(a.view.key), b.view, beyond.at(b.view.key));
  });
  return loud;
}

// The rung that must stand first instead of the worst of the bundle: one of the same ladder that
// rings and is worse; null where there is none.
const AlarmView* worse_rung(const AlarmView& first, const Views& views) {
  const AlarmView* worst = &first;
  for (const AlarmView& view : views.cabinets.at(first.key.cabinet))
    if (same_ladder(view, first) && rings(view) && !view.attending && worse(view, *worst))
      worst = &view;
  return worst == &first ? nullptr : worst;
}

// "Mara by webhook at 02:14, again at 02:17: taken at 02:17"
std::vector<std::string> tried_lines(const Episode& episode, const Manner& manner) {
  std::vector<std::string> lines;
  for (const Episode::Attempt& one : episode.attempts) {
    std::string line =
        person(one.contact) + " by " + one.way + " at " + clock_text(one.first_at, manner);
    if (one.at != one.first_at) line += ", last at " + clock_text(one.at, manner);
    if (one.taken_at)
      line += ": taken at " + clock_text(*one.taken_at, manner);
    else
      line += one.failed ? ": failed" : ": not taken yet";
    if (!one.last_answer.empty()) line += ", the answer was: " + printable(one.last_answer);
    lines.push_back(std::move(line));
  }
  return lines;
}

// "You stand in for Mara until 18 Jul."
std::string stand_in_line(const std::string& contact, std::chrono::local_days until) {
  return "You stand in for " + person(contact) + " until " + day_text(until) + ".";
}

}  // namespace

void Announcer::State::look(Views& views, const AlarmKey& key, const AlarmEvent& event,
                            const AlarmLookup& lookup) {
  const AlarmView& view = views.alarms.emplace(key, view_of(event, lookup)).first->second;
  // Two, where the batch has moved since.
  for (const std::string& cabinet : {key.cabinet, view.key.cabinet})
    if (views.cabinets.count(cabinet) == 0)
      views.cabinets.emplace(cabinet, lookup.of_cabinet(cabinet));
}

void Announcer::State::send(const Rings& list, const std::vector<Quiet>& news,
                            const AlarmLookup& lookup, Moment now) {
  Bundles bundles;
  Views views;
  for (const Ring& ring : list) {
    look(views, ring.key, ring.events.back(), lookup);
    for (const std::string& contact : ring.contacts)
      if (!channels_of(contact).empty()) bundles[contact].rings.push_back(&ring);
  }
  for (const Quiet& quiet : news)
    for (const std::string& contact : quiet.contacts)
      if (!channels_of(contact).empty()) bundles[contact].news.push_back(&quiet);
  for (auto& [contact, bundle] : bundles) hold_back(contact, bundle, views, lookup, now);

  std::map<std::string, Urgency> told;
  send(bundles, views, now, told);
  share_steps(list, views, now);
  Rings settled = list;
  for (const auto& [contact, bundle] : bundles)
    settled.insert(settled.end(), bundle.own.begin(), bundle.own.end());
  settle(settled, told, lookup, now);
}

void Announcer::State::send(const Bundles& bundles, const Views& views, Moment now,
                            std::map<std::string, Urgency>& told) {
  std::vector<std::string> told_now;
  for (const auto& [contact, bundle] : bundles)
    if (!bundle.rings.empty()) told_now.push_back(contact);
  // All are written before the first is noted, so that every contact reads the same history.
  std::vector<Written> written;
  for (const auto& [contact, bundle] : bundles) {
    if (bundle.empty()) continue;
    Telling telling;
    telling.loud = loud_of(bundle, views);
    telling.quiet = bundle.news;
    telling.told_now = told_now;
    telling.listing = bundle.listing;
    telling.flood_since = bundle.flood_since;
    complete(telling, views, now);
    for (const auto& [away, until] : duty(now).stands_in_for(contact))
      telling.stands_in.push_back(stand_in_line(away, until));
    const bool nothing = telling.loud.empty() && telling.quiet.empty();
    Written one{contact,
                nothing ? write_flood_over(bundle.flood_since, manner(now))
                        : write_message(telling, manner(now)),
                {}};
    for (const Loud& loud : telling.loud) one.alarms.push_back(loud.view.key);
    written.push_back(std::move(one));
  }
  for (const Written& one : written) {
    note_told(one.contact, one.alarms, one.note.urgency, now);
    if (!one.alarms.empty()) told.emplace(one.contact, one.note.urgency);
    post(one.note, one.contact, std::nullopt, now);
  }
}

void Announcer::State::complete(Telling& telling, const Views& views, Moment now) {
  if (telling.loud.empty()) return;
  const Loud first = telling.loud.front();
  telling.cabinet = views.cabinets.at(first.view.key.cabinet);
  if (const AlarmView* rung = worse_rung(first.view, views))
    if (const Episode* episode = find(rung->key))
      telling.loud.insert(telling.loud.begin(),
                          {*rung, {episode->last_event}, first.reason, first.reminder, first.by});
  if (const Episode* episode = find(telling.loud.front().view.key))
    telling.tried = tried_lines(*episode, manner(now));
}

}  // namespace clutchward
