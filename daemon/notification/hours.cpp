// Hours and quiet hours: whom a step calls now, who is told later, and what is told when quiet
// hours end. A high alarm always finds somebody.
#include <algorithm>
#include <utility>

#include "notification/ladder.h"
#include "notification/state.h"

namespace clutchward {
namespace {

// Looked at again at least so often, since the wall clock may be set in between.
constexpr Span kLook = std::chrono::hours{1};
// While somebody attends.
constexpr Span kLookAgain = std::chrono::minutes{1};

Steady due_at(const Whereabouts& standing, Moment now) {
  const Span wait = standing.until ? *standing.until - now.wall : kLook;
  return now.steady + std::clamp(wait, Span{1}, kLook);
}

}  // namespace

std::vector<std::string> Announcer::State::take_called(Episode& episode, const AlarmView& view,
                                                       const Called& called, Reason reason,
                                                       const std::string& by, Moment now) {
  const bool high = view.priority == Priority::high;
  auto told = called.now;
  if (called.nobody && told.empty() && high && rings(view) && episode.reminded().empty()) {
    told = duty(now).everybody();
    std::erase(told, by);
    if (told.empty()) told = duty(now).everybody();
  }
  if (!rings(view)) return told;
  for (const std::string& contact : called.later)
    if (std::find(told.begin(), told.end(), contact) == told.end())
      hold_for_hours(episode, {contact, reason, by, 0, true}, now);
  return told;
}

std::vector<std::string> Announcer::State::call_due(Episode& episode, const AlarmView& view,
                                                    Reason reason, Moment now) {
  const Called called = episode.take_due_steps(steps, duty(now), view.priority, now);
  return take_called(episode, view, called, reason, "", now);
}

std::vector<std::string> Announcer::State::call_next(Episode& episode, const Steps& among,
                                                     const AlarmView& view, Reason reason,
                                                     const std::string& by, Moment now) {
  const Called called = episode.take_next_step(among, duty(now), view.priority);
  return take_called(episode, view, called, reason, by, now);
}

std::vector<std::string> Announcer::State::remindable(Episode& episode, const AlarmView& view,
                                                      const std::vector<std::string>& reminded,
                                                      Moment now, Decided& decided) {
  const Duty who = duty(now);
  std::vector<std::string> there;
  std::vector<std::string> absent;
  for (const std::string& contact : who.people(reminded))
    (who.can_be_told(contact, view.priority) ? there : absent).push_back(contact);
  if (view.priority != Priority::high) {
    for (const std::string& contact : absent)
      if (who.hears(contact, view.priority))
        hold_for_hours(episode, {contact, Reason::reminder, "", episode.reminders, true}, now);
    return there;
  }
  if (!there.empty() || reminded.empty()) return there;
  // Their hours are over and nobody has it: whoever comes next, and where nobody does, they.
  auto next = call_next(episode, steps, view, Reason::escalated, "", now);
  if (next.empty()) return reminded;
  decided.add({episode.key, {episode.last_event}, Reason::escalated, "", std::move(next)});
  return {};
}

void Announcer::State::hold_for_hours(Episode& episode, Episode::Held held, Moment now) {
  HeldForHours& waits = hours[held.contact];
  if (waits.empty()) waits.due = due_at(duty(now).standing(held.contact), now);
  waits.alarms.insert(episode.key);
  episode.hold_for(std::move(held));
  changed.insert(episode.key.cabinet);
}

void Announcer::State::hold_news_for_hours(const Quiet& quiet, const AlarmView& view,
                                           std::vector<std::string>& contacts, Moment now) {
  // Whoever was woken for it must hear that somebody has it.
  if (view.priority == Priority::high || settings.contact_times.empty()) return;
  const Duty who = duty(now);
  std::erase_if(contacts, [&](const std::string& contact) {
    const Whereabouts standing = who.standing(contact);
    if (standing.presence == Presence::there) return false;
    if (standing.presence == Presence::away) return true;
    HeldForHours& waits = hours[contact];
    if (waits.empty()) waits.due = due_at(standing, now);
    waits.news.insert(quiet.event.key.cabinet);
    ledgers[quiet.event.key.cabinet].hold_news_for_hours(quiet, contact);
    touched(quiet.event.key.cabinet);
    return true;
  });
}

void Announcer::State::release_hours(const AlarmLookup& lookup, Moment now) {
  Rings list;
  std::vector<Quiet> news;
  const Duty who = duty(now);
  for (auto next = hours.begin(); next != hours.end();) {
    const auto current = next++;
    HeldForHours& waits = current->second;
    if (waits.due > now.steady) continue;
    const Whereabouts standing = who.standing(current->first);
    if (standing.presence == Presence::quiet || standing.presence == Presence::off) {
      waits.due = due_at(standing, now);
      continue;
    }
    release_hours_of(current->first, waits, list, news, lookup, now);
    if (waits.empty())
      hours.erase(current);
    else
      waits.due = now.steady + kLookAgain;
  }
  if (!list.empty() || !news.empty()) send(list, news, lookup, now);
}

void Announcer::State::release_hours_of(const std::string& contact, HeldForHours& waits,
                                        Rings& list, std::vector<Quiet>& news,
                                        const AlarmLookup& lookup, Moment now) {
  // Away by now: the stand-in, if there is one.
  const auto people = duty(now).people({contact});
  for (auto next = waits.alarms.begin(); next != waits.alarms.end();) {
    const auto current = next++;
    const AlarmKey key = *current;
    Episode* episode = find(key);
    if (episode == nullptr) {
      waits.alarms.erase(current);
      continue;
    }
    const AlarmView view = view_of(episode->last_event, lookup);
    if (view.attending && rings(view)) continue;
    const auto mine =
        std::find_if(episode->held_for.begin(), episode->held_for.end(),
                     [&](const auto& one) { return one.hours && one.contact == contact; });
    waits.alarms.erase(current);
    if (mine == episode->held_for.end()) continue;
    const Episode::Held held = *mine;
    episode->forget_hours(contact);
    // What is over, or in somebody's hands, needs no word any more.
    const auto interval = reminder_interval(view.priority, episode->reminders);
    if (episode->next_reminder && interval)
      episode->next_reminder = std::max(*episode->next_reminder, now.steady + *interval);
    if (rings(view) && !people.empty())
      list.push_back(
          {key, {episode->last_event}, held.reason, held.by, people, held.reminder, true});
    else if (is_over(*episode, view))
      ledgers[key.cabinet].episodes.erase(key);
    touched(key.cabinet);
  }
  for (const std::string& cabinet : std::exchange(waits.news, {})) {
    const auto found = ledgers.find(cabinet);
    if (found == ledgers.end()) continue;
    for (Quiet& quiet : found->second.hours_news) {
      if (std::erase(quiet.contacts, contact) == 0) continue;
      news.push_back(quiet);
      news.back().contacts = {contact};
    }
    std::erase_if(found->second.hours_news,
                  [](const Quiet& quiet) { return quiet.contacts.empty(); });
    touched(cabinet);
  }
}

// A flood's list falls into quiet hours: the high ones have gone, the rest waits with the night's.
void Announcer::State::move_to_hours(const std::string& contact, Flood& flood, Moment now) {
  const Whereabouts standing = duty(now).standing(contact);
  HeldForHours& waits = hours[contact];
  if (waits.empty()) waits.due = due_at(standing, now);
  for (const AlarmKey& key : std::exchange(flood.held, {})) {
    Episode* episode = find(key);
    if (episode == nullptr) continue;
    for (Episode::Held& held : episode->held_for)
      if (held.contact == contact) held.hours = true;
    waits.alarms.insert(key);
    touched(key.cabinet);
  }
  for (const std::string& cabinet : std::exchange(flood.held_news, {})) {
    const auto found = ledgers.find(cabinet);
    if (found == ledgers.end()) continue;
    for (Quiet& quiet : found->second.held_news)
      if (std::erase(quiet.contacts, contact) != 0)
        found->second.hold_news_for_hours(quiet, contact);
    std::erase_if(found->second.held_news,
                  [](const Quiet& quiet) { return quiet.contacts.empty(); });
    waits.news.insert(cabinet);
    touched(cabinet);
  }
  if (waits.empty()) hours.erase(contact);
}

std::optional<Steady> Announcer::State::next_hours() const {
  std::optional<Steady> first;
  for (const auto& [contact, waits] : hours)
    if (!first || waits.due < *first) first = waits.due;
  return first;
}

}  // namespace clutchward
