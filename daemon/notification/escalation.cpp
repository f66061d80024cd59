// What time brings to an announced alarm: steps and reminders; and what follows when a contact
// cannot be reached. Each alarm is looked up first: one that no longer rings is left alone.
#include "notification/ladder.h"
#include "notification/state.h"

namespace clutchward {
namespace {

Reason reason_of_step(const Episode& episode, const std::vector<std::string>& told) {
  if (!told.empty()) return Reason::escalated;
  // The first step has a delay of its own: its contacts hear of the alarm for the first time.
  if (episode.last_event.kind == EventKind::raised_again) return Reason::raised_again;
  return episode.last_event.kind == EventKind::worsened ? Reason::worsened : Reason::raised;
}

}  // namespace

void Announcer::State::fire(const std::string& cabinet, const AlarmLookup& lookup, Moment now,
                            Decided& decided) {
  const auto found = ledgers.find(cabinet);
  if (found == ledgers.end()) return;
  auto& episodes = found->second.episodes;
  for (auto next = episodes.begin(); next != episodes.end();) {
    const auto current = next++;
    const AlarmKey& key = current->first;
    Episode& episode = current->second;
    const auto due = episode.next_deadline(steps);
    if (!due || *due > now.steady) continue;
    const auto view = lookup.find(key);
    if (!view || !rings(*view)) {
      episode.stop();
      if (!view && !episode.waits()) episodes.erase(current);  // its batch or rule is gone
      continue;
    }
    if (episode.folded) {
      unfold_one(episode, lookup, now, decided);
      continue;
    }
    if (view->attending) {
      episode.on_hold = true;
      continue;
    }
    const auto reminded = episode.reminded();
    const Reason reason = reason_of_step(episode, reminded);
    auto stepped = call_due(episode, *view, reason, now);
    if (!stepped.empty()) decided.add({key, {episode.last_event}, reason, "", std::move(stepped)});
    fire_reminder(episode, *view, reminded, now, decided);
  }
  touched(cabinet);
}

void Announcer::State::fire_reminder(Episode& episode, const AlarmView& view,
                                     const std::vector<std::string>& reminded, Moment now,
                                     Decided& decided) {
  if (!episode.next_reminder || *episode.next_reminder > now.steady) return;
  const auto there = remindable(episode, view, reminded, now, decided);
  if (!there.empty()) {
    ++episode.reminders;
    decided.add(
        {episode.key, {episode.last_event}, Reason::reminder, "", there, episode.reminders});
  }
  const auto interval = reminder_interval(view.priority, episode.reminders);
  // From the due time, so that late turns do not add up; from now where a whole one was missed.
  if (!interval)
    episode.next_reminder.reset();
  else if (*episode.next_reminder + *interval > now.steady)
    *episode.next_reminder += *interval;
  else
    episode.next_reminder = now.steady + *interval;
}

void Announcer::State::note_report(const Notification& note, const DeliveryReport& report,
                                   const AlarmLookup& lookup, Moment now, Decided& decided) {
  for (const AlarmEvent& event : note.events) {
    Episode* episode = find(event.key);
    Episode::Attempt* attempt =
        episode != nullptr ? episode->attempt(note.contact, note.channel) : nullptr;
    if (attempt == nullptr) continue;
    const bool failed_before = attempt->failed;
    if (attempt->at == note.made_at) {
      if (report.outcome == Outcome::delivered) attempt->taken_at = now.wall;
      attempt->last_answer = report.outcome == Outcome::delivered ? "" : report.detail;
      if (report.outcome == Outcome::delivered) attempt->failed = false;
    }
    touched(event.key.cabinet);
    // A channel that fails again for a reminder has sent the next step on its way already.
    if (report.outcome != Outcome::failed || failed_before) continue;
    attempt->failed = true;
    const auto view = lookup.find(event.key);
    if (note.urgency == Urgency::quiet || !episode->running || !view || !rings(*view)) continue;
    auto next = call_next(*episode, steps, *view, Reason::unreachable, note.contact, now);
    if (!next.empty())
      decided.add(
          {event.key, {episode->last_event}, Reason::unreachable, note.contact, std::move(next)});
    touched(event.key.cabinet);
  }
}

}  // namespace clutchward
