// What an alarm event means for those who are told: loud at once, gathered, held while somebody
// attends, or quiet news. It makes no message.
#include <algorithm>
#include <utility>

#include "notification/ladder.h"
#include "notification/state.h"

namespace clutchward {
namespace {

bool is_loud(EventKind kind) {
  return kind == EventKind::raised || kind == EventKind::raised_again ||
         kind == EventKind::worsened;
}

bool ends_ringing(EventKind kind) {
  return kind == EventKind::returned || kind == EventKind::acknowledged ||
         kind == EventKind::snoozed || kind == EventKind::reset ||
         kind == EventKind::out_of_service;
}

// Whether quiet news is worth a message: of what a person or the alarm did, not of a clock's end.
bool is_news(EventKind kind) { return ends_ringing(kind); }

// Whether what was held back while somebody attended still holds when attending ends.
bool still_so(const AlarmEvent& event, const AlarmView& view) {
  switch (event.kind) {
    case EventKind::returned:
    case EventKind::reset:
      return !view.active;
    case EventKind::acknowledged:
      return view.active && view.acknowledged;
    case EventKind::snoozed:
      return view.snoozed_until.has_value();
    case EventKind::out_of_service:
      return view.state == AlarmState::out_of_service;
    default:
      return false;
  }
}

// Cabinets that speak once a minute fall silent within one minute of each other: so long one of
// them waits for the rest, where the site asked for their common cause to be told (our own choice).
constexpr Span kCauseMayCome = std::chrono::minutes{1};

bool may_have_a_cause(const AlarmView& view, const Settings& settings) {
  if (view.kind != RuleKind::silent || view.priority == Priority::high) return false;
  return std::any_of(settings.rules.begin(), settings.rules.end(), [](const auto& rule) {
    return !rule.second.off && rule.second.kind == RuleKind::all_silent;
  });
}

void hold(Episode& episode, const AlarmEvent& event) {
  // The last few acts are all that can still be so when attending ends (our own choice).
  constexpr std::size_t kHeld = 8;
  if (episode.held_quiet.size() >= kHeld) episode.held_quiet.erase(episode.held_quiet.begin());
  episode.held_quiet.push_back(event);
}

// The worst that is active in the same cabinet on the same quantity beside an alarm that returned.
std::optional<AlarmView> stands_beside(const AlarmEvent& event, const AlarmView& view,
                                       const AlarmLookup& lookup) {
  std::optional<AlarmView> found;
  if (event.kind != EventKind::returned || !compares(view.kind)) return found;
  for (AlarmView& other : lookup.of_cabinet(event.key.cabinet))
    if (other.active && other.key != event.key && compares(other.kind) &&
        other.quantity == view.quantity && (!found || worse(other, *found)))
      found = std::move(other);
  return found;
}

}  // namespace

AlarmView Announcer::State::view_of(const AlarmEvent& event, const AlarmLookup& lookup) const {
  if (auto view = lookup.find(event.key)) return std::move(*view);
  // The alarm is gone with its batch or rule: what is still known of its kind.
  AlarmView view;
  view.key = event.key;
  view.limit = event.limit;
  view.value = event.value;
  for (const Rule& rule : resolve_rules({&built_in_rules(), &settings.rules}))
    if (rule.id == event.key.alarm) {
      view.kind = rule.kind;
      view.quantity = rule.quantity;
      view.priority = rule.priority;
    }
  return view;
}

void Announcer::State::note(const AlarmEvent& event, bool snoozed_before, const AlarmLookup& lookup,
                            Moment now, Decided& decided) {
  const AlarmView view = view_of(event, lookup);
  CabinetLedger& ledger = ledgers[event.key.cabinet];
  auto found = ledger.episodes.find(event.key);
  // Passing on may come before any announcement: it is one by itself.
  if (is_loud(event.kind) || (event.kind == EventKind::passed_on && rings(view)))
    if (found == ledger.episodes.end() || found->second.episode != view.episode) {
      Episode fresh;
      fresh.key = event.key;
      fresh.episode = view.episode;
      fresh.last_event = event;
      // What is held for a flood's list and how it chattered outlive the episode.
      if (found != ledger.episodes.end()) {
        fresh.held_for = std::move(found->second.held_for);
        fresh.chatter = std::move(found->second.chatter);
      }
      found = ledger.episodes.insert_or_assign(event.key, std::move(fresh)).first;
    }
  if (is_loud(event.kind)) {
    Episode& episode = found->second;
    episode.last_event = event;
    if (event.kind == EventKind::raised && episode.chatter.raise(now.steady))
      tell_chatter(episode, view, now);
    const bool silenced = snoozed_before || view.state == AlarmState::out_of_service;
    if (silenced && event.kind != EventKind::worsened)
      episode.stop();
    else if (view.attending)
      episode.held_loud = event;
    else if (may_have_a_cause(view, settings)) {
      fold(episode, now);
      episode.next_reminder = now.steady + kCauseMayCome;
    } else
      announce(episode, event, view, now, decided);
  } else if (found != ledger.episodes.end()) {
    Episode& episode = found->second;
    if (ends_ringing(event.kind)) episode.stop();
    if (event.kind == EventKind::returned)
      episode.chatter.give_back(event.value, event.limit, now.steady);
    if (event.kind == EventKind::passed_on)
      pass_on(episode, event, view, now, decided);
    else if (is_news(event.kind) && view.attending)
      hold(episode, event);
    else if (is_news(event.kind))
      tell_quietly(episode, event, view, {}, now, stands_beside(event, view, lookup));
    if (is_over(episode, view)) ledger.episodes.erase(found);
  }
  touched(event.key.cabinet);
  if (view.kind == RuleKind::all_silent && !view.active) unfold(lookup, now, decided);
}

void Announcer::State::announce(Episode& episode, const AlarmEvent& event, const AlarmView& view,
                                Moment now, Decided& decided) {
  episode.gather(event);
  if (view.priority != Priority::high) {
    episode.stop();
    open_gather(event.key.cabinet, now);
    return;
  }
  // Delivering this cabinet takes along whatever else of it is gathered.
  decided.at_once.insert(event.key.cabinet);
}

void Announcer::State::pass_on(Episode& episode, const AlarmEvent& event, const AlarmView& view,
                               Moment now, Decided& decided) {
  if (event.by && settings.contacts.count(*event.by) != 0)
    add_contact(episode.passed_by, *event.by);
  std::vector<std::string> next;
  if (rings(view)) {
    Called skipped;
    if (!episode.running) {
      // Passed on before it was announced: this is the announcement, and it skips the passer's
      // step.
      episode.gathered.clear();
      episode.held_loud.reset();
      const auto passed_by = episode.passed_by;
      episode.start(view.priority, view.turns_high_at, now);
      episode.passed_by = passed_by;
      skipped = episode.take_due_steps(steps, duty(now), view.priority, now);
    }
    const bool at_end = !episode.somebody_left(settings.escalation, duty(now), view.priority);
    next = call_next(episode, settings.escalation, view, Reason::passed_on, event.by.value_or(""),
                     now);
    // Nobody stands behind that step: those of it who did not pass it on themselves.
    if (next.empty())
      for (const std::string& contact : skipped.now)
        if (std::find(episode.passed_by.begin(), episode.passed_by.end(), contact) ==
            episode.passed_by.end())
          next.push_back(contact);
    // Pressed again it is no news.
    if (at_end && next.empty() && std::exchange(episode.end_told, true)) return;
    if (!next.empty())
      decided.add({event.key, {event}, Reason::passed_on, event.by.value_or(""), next});
  }
  tell_quietly(episode, event, view, next, now);
}

void Announcer::State::tell_quietly(const Episode& episode, const AlarmEvent& event,
                                    const AlarmView& view, const std::vector<std::string>& next,
                                    Moment now, const std::optional<AlarmView>& stands) {
  std::vector<std::string> contacts;
  for (const std::string& contact : episode.told_contacts()) {
    const bool own_act = event.by && *event.by == contact;
    if (!own_act && std::find(next.begin(), next.end(), contact) == next.end())
      contacts.push_back(contact);
  }
  if (contacts.empty()) return;
  Quiet quiet = write_quiet(event, view, next, manner(now), stands ? &*stands : nullptr);
  if (quiet.episode.empty()) quiet.episode = episode.episode;
  hold_news_for_hours(quiet, view, contacts, now);
  if (contacts.empty()) return;
  quiet.contacts = std::move(contacts);
  ledgers[event.key.cabinet].add_news(std::move(quiet));
  open_gather(event.key.cabinet, now);
}

void Announcer::State::release(const std::string& cabinet, const AlarmLookup& lookup, Moment now,
                               Decided& decided) {
  const auto found = ledgers.find(cabinet);
  if (found == ledgers.end()) return;
  auto& episodes = found->second.episodes;
  for (auto next = episodes.begin(); next != episodes.end();) {
    const auto current = next++;
    Episode& episode = current->second;
    const AlarmView view = view_of(episode.last_event, lookup);
    if (view.attending) continue;
    episode.on_hold = false;
    const auto held = std::exchange(episode.held_loud, std::nullopt);
    if (held && rings(view)) announce(episode, *held, view, now, decided);
    for (const AlarmEvent& event : std::exchange(episode.held_quiet, {}))
      if (still_so(event, view))
        tell_quietly(episode, event, view, {}, now, stands_beside(event, view, lookup));
    if (is_over(episode, view)) episodes.erase(current);
  }
  fire(cabinet, lookup, now, decided);
}

}  // namespace clutchward
