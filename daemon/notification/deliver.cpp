// From what is decided to what is told: what has been gathered goes along, reminders and steps that
// a message has spoken for are put off. It writes no text.
#include <algorithm>
#include <iterator>
#include <utility>

#include "notification/ladder.h"
#include "notification/state.h"

namespace clutchward {
namespace {

Reason reason_of(EventKind kind) {
  if (kind == EventKind::raised_again) return Reason::raised_again;
  return kind == EventKind::worsened ? Reason::worsened : Reason::raised;
}

// What was undone while it was gathered is no news: it would claim that somebody has what rings.
bool still_true(const AlarmEvent& event, const AlarmView& view) {
  if (event.kind == EventKind::snoozed) return view.snoozed_until.has_value();
  if (event.kind == EventKind::acknowledged) return !view.active || view.acknowledged;
  return true;
}

}  // namespace

void Announcer::State::take_gathered(const std::string& cabinet, const AlarmLookup& lookup,
                                     Moment now, Rings& out) {
  const auto found = ledgers.find(cabinet);
  if (found == ledgers.end()) return;
  bool causes = false;
  for (auto& [key, episode] : found->second.episodes) {
    if (episode.gathered.empty()) continue;
    auto events = std::exchange(episode.gathered, {});
    const AlarmView view = view_of(events.back(), lookup);
    if (rings(view) && is_told_by_cause(view, lookup)) {
      fold(episode, now);
      continue;
    }
    if (view.kind == RuleKind::all_silent) causes = true;
    episode.start(view.priority, view.turns_high_at, now);
    const Reason reason = reason_of(events.back().kind);
    auto contacts = call_due(episode, view, reason, now);
    if (!rings(view)) episode.stop();
    // Whoever has it in hand by now needs no word of it.
    if (view.active && view.acknowledged) std::erase(contacts, view.acknowledged_by);
    if (view.active && view.snoozed_until) std::erase(contacts, view.snoozed_by);
    out.push_back({key, std::move(events), reason, "", std::move(contacts)});
  }
  if (found->second.news.empty()) close_gather(cabinet);
  touched(cabinet);
  if (causes) fold_consequences(lookup, now);
}

void Announcer::State::deliver(Decided decided, const AlarmLookup& lookup, Moment now) {
  for (const std::string& cabinet : decided.at_once) decided.rings[cabinet];
  // One message a contact for all of them: a storm that comes in one turn is no storm of messages.
  Rings all;
  for (auto& [cabinet, list] : decided.rings) {
    take_gathered(cabinet, lookup, now, list);
    std::move(list.begin(), list.end(), std::back_inserter(all));
  }
  send(all, {}, lookup, now);
  flush_if_due(lookup, now);
  release_held(lookup, now);
  release_hours(lookup, now);
}

void Announcer::State::flush_if_due(const AlarmLookup& lookup, Moment now) {
  if (!gather_due || *gather_due > now.steady) return;
  Rings list;
  std::vector<Quiet> news;
  while (!gathering.empty()) {
    const std::string cabinet = *gathering.begin();
    for (Quiet& quiet : std::exchange(ledgers[cabinet].news, {}))
      if (still_true(quiet.event, view_of(quiet.event, lookup))) news.push_back(std::move(quiet));
    take_gathered(cabinet, lookup, now, list);
    close_gather(cabinet);
    touched(cabinet);
  }
  send(list, news, lookup, now);
}

void Announcer::State::note_told(const std::string& contact, const std::vector<AlarmKey>& alarms,
                                 Urgency urgency, Moment now) {
  const auto& channels = channels_of(contact);
  for (const AlarmKey& key : alarms) {
    Episode* episode = find(key);
    if (episode == nullptr) continue;
    episode->note_told(contact);
    episode->forget_hours(contact);
    for (const std::size_t i : channels_for(contact, urgency))
      episode->note_attempt(contact, static_cast<int>(i), channels[i].kind(), now.wall);
    touched(key.cabinet);
  }
}

void Announcer::State::share_steps(const Rings& list, const Views& views, Moment now) {
  // Rungs of one ladder climb together: whoever has just been told of one need not be told of the
  // other again when its own step comes.
  for (const Ring& ring : list) {
    const Episode* climbed = find(ring.key);
    if (ring.reason != Reason::escalated || climbed == nullptr) continue;
    const auto told = [&](const std::string& contact) {
      return std::find(ring.contacts.begin(), ring.contacts.end(), contact) != ring.contacts.end();
    };
    for (const AlarmView& view : views.cabinets.at(ring.key.cabinet)) {
      const AlarmView& rung = views.alarms.at(ring.key);
      Episode* episode = find(view.key);
      if (view.key == ring.key || episode == nullptr || !episode->running || !rings(view) ||
          !same_ladder(view, rung) || view.priority > rung.priority ||
          episode->steps_told >= std::min(climbed->steps_told, steps.size()))
        continue;
      const auto next = duty(now).call(steps[episode->steps_told].notify, view.priority).now;
      if (!next.empty() && std::all_of(next.begin(), next.end(), told)) ++episode->steps_told;
    }
    touched(ring.key.cabinet);
  }
}

void Announcer::State::settle(const Rings& list, const std::map<std::string, Urgency>& told,
                              const AlarmLookup& lookup, Moment now) {
  std::set<std::string> cabinets;
  std::set<AlarmKey> rung;
  for (const Ring& ring : list) {
    cabinets.insert(ring.key.cabinet);
    rung.insert(ring.key);
  }
  for (const std::string& cabinet : cabinets) {
    const auto found = ledgers.find(cabinet);
    if (found == ledgers.end()) continue;
    std::erase_if(found->second.episodes, [&](const auto& one) {
      return rung.count(one.first) != 0 &&
             is_over(one.second, view_of(one.second.last_event, lookup));
    });
    for (auto& [key, episode] : found->second.episodes) {
      if (!episode.running || episode.folded || !episode.next_reminder || rung.count(key) != 0)
        continue;
      const auto view = lookup.find(key);
      if (!view || !rings(*view)) continue;
      const auto reminded = episode.reminded();
      const bool covered = std::all_of(reminded.begin(), reminded.end(), [&](const auto& contact) {
        const auto urgency = told.find(contact);
        return urgency != told.end() && urgency->second >= urgency_of(view->priority);
      });
      const auto interval = reminder_interval(view->priority, episode.reminders);
      if (covered && !reminded.empty() && interval)
        episode.next_reminder = std::max(*episode.next_reminder, now.steady + *interval);
    }
    touched(cabinet);
  }
}

}  // namespace clutchward
