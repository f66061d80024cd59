// The announcer's face: each call decides, delivers into the outbox and leaves what has changed to
// be taken. It sends nothing and reads no clock.
#include "notification/announcer.h"

#include <algorithm>
#include <set>

#include "notification/state.h"

namespace clutchward {
namespace {

std::string ended(std::string text) {
  if (text.empty() || text.back() != '\n') text += "\n";
  return text;
}

}  // namespace

Announcer::Announcer(const Settings& settings, const Zone& zone)
    : state_(std::make_unique<State>(settings, zone)) {}
Announcer::~Announcer() = default;

void Announcer::configure(const Settings& settings, const Zone& zone) {
  state_->settings = settings;
  state_->settings.forget_batches();
  state_->zone = zone;
  state_->steps = steps_of(settings);
  for (auto& [cabinet, ledger] : state_->ledgers) state_->reschedule(cabinet, ledger);
  for (auto& [contact, waits] : state_->hours) waits.due = {};  // looked at in the new light
}

void Announcer::tell(const std::vector<AlarmEvent>& events, const AlarmLookup& lookup, Moment now) {
  // `lookup` shows the end of the turn: an alarm that was raised and then snoozed in it was not
  // snoozed when it was raised.
  std::set<AlarmKey> snoozed_later;
  std::vector<bool> snoozed_before(events.size(), false);
  for (std::size_t i = events.size(); i-- > 0;) {
    const AlarmEvent& event = events[i];
    if (event.kind == EventKind::snoozed) snoozed_later.insert(event.key);
    if (snoozed_later.count(event.key) != 0) continue;
    const auto view = lookup.find(event.key);
    snoozed_before[i] = view && view->snoozed_until;
  }
  Decided decided;
  for (std::size_t i = 0; i < events.size(); ++i)
    state_->note(events[i], snoozed_before[i], lookup, now, decided);
  state_->deliver(std::move(decided), lookup, now);
}

void Announcer::attending_ended(const std::string& cabinet, const AlarmLookup& lookup, Moment now) {
  Decided decided;
  state_->release(cabinet, lookup, now, decided);
  state_->deliver(std::move(decided), lookup, now);
}

void Announcer::tell_service(const std::string& first_line, const std::string& message,
                             Urgency urgency, Moment now) {
  Notification note;
  note.first_line = first_line_of(first_line);
  note.message = ended(message);
  note.urgency = urgency;
  note.thread = "service";
  state_->tell_step(note, 0, now);
}

void Announcer::tell_people(const std::vector<std::string>& contacts, const Notification& note,
                            Moment now) {
  // Asked for at an hour of its own, so that hours and quiet hours do not count; an absence does.
  if (contacts.empty()) return;
  auto people = state_->duty(now).people(contacts);
  if (people.empty()) people = state_->duty(now).everybody();
  for (const std::string& contact : people) state_->post(note, contact, std::nullopt, now);
}

void Announcer::tell_over(const std::string& contact, int channel, const Notification& note,
                          Moment now) {
  state_->post_to(note, contact, static_cast<std::size_t>(channel), std::nullopt, now);
}

bool Announcer::tell_test(const std::string& contact, const std::string& by, Moment now) {
  const Manner manner = state_->manner(now);
  const std::string site = place({}, manner);
  const std::string who = person(by.empty() ? std::nullopt : std::optional(by));
  Notification note;
  note.first_line =
      fitted({{"TEST ", ", asked for by " + plain(who) + " at " + clock_text(now.wall, manner) +
                            ". Nothing is wrong"},
              {"TEST ", " at " + clock_text(now.wall, manner) + ". Nothing is wrong"}},
             site);
  note.message = "This is a test message from " + site + ", asked for by " + who + " at " +
                 clock_text(now.wall, manner, true) +
                 ".\nNothing is wrong. If you can read it, an alarm would reach you this way.\n";
  note.thread = "test";
  bool told = false;
  for (const auto& [name, channels] : state_->settings.contacts) {
    if (!contact.empty() && name != contact) continue;
    told = told || !channels.empty();
    for (std::size_t i = 0; i < channels.size(); ++i)
      state_->post_to(note, name, i, std::nullopt, now);
  }
  return told;
}

std::string Announcer::end_of_steps(const AlarmView& alarm, Moment now) const {
  const auto known = this->told(alarm, now);
  if (!known || known->somebody_left) return {};
  const std::string told = people(state_->find(alarm.key)->told_contacts());
  return "nobody is left to pass it on to" + (told.empty() ? "" : "; told so far: " + told);
}

void Announcer::advance(const AlarmLookup& lookup, Moment now) {
  Decided decided;
  auto& deadlines = state_->deadlines;
  while (!deadlines.empty() && deadlines.begin()->first <= now.steady) {
    const std::string cabinet = deadlines.begin()->second;
    state_->fire(cabinet, lookup, now, decided);
  }
  state_->deliver(std::move(decided), lookup, now);
}

std::optional<Steady> Announcer::next_deadline() const {
  std::optional<Steady> first = state_->gather_due;
  const auto earlier = [&](std::optional<Steady> due) {
    if (due && (!first || *due < *first)) first = due;
  };
  if (!state_->deadlines.empty()) earlier(state_->deadlines.begin()->first);
  earlier(state_->next_release());
  earlier(state_->next_hours());
  earlier(state_->outbox.next_deadline());
  return first;
}

void Announcer::report(const DeliveryReport& report, const AlarmLookup& lookup, Moment now) {
  const Outbox::Entry* entry = state_->outbox.find(report.id);
  if (entry == nullptr) return;
  const Notification note = entry->note;
  const auto next_step = entry->next_step;
  const bool first_failure = report.outcome == Outcome::failed && !entry->failed;
  state_->outbox.report(report, now);
  Decided decided;
  state_->note_report(note, report, lookup, now, decided);
  if (first_failure && next_step && note.urgency != Urgency::quiet)
    state_->tell_step(note, *next_step, now);
  state_->deliver(std::move(decided), lookup, now);
}

std::optional<WhoKnows> Announcer::told(const AlarmView& alarm, Moment now) const {
  const Episode* found = state_->find(alarm.key);
  if (found == nullptr || !found->running || found->episode != alarm.episode) return std::nullopt;
  WhoKnows out;
  for (const std::string& contact : found->told_contacts()) {
    const bool taken = std::any_of(
        found->attempts.begin(), found->attempts.end(),
        [&](const auto& each) { return each.contact == contact && each.taken_at.has_value(); });
    (taken ? out.told : out.on_way).push_back(contact);
  }
  out.somebody_left =
      found->somebody_left(state_->settings.escalation, state_->duty(now), alarm.priority);
  return out;
}

bool Announcer::discard(const std::string& id) { return state_->outbox.discard(id); }

std::vector<Notification> Announcer::take_due(Moment now) {
  return state_->outbox.take_due(now, [this](const std::string& contact, int channel) {
    const auto& channels = state_->channels_of(contact);
    return channel >= 0 && static_cast<std::size_t>(channel) < channels.size();
  });
}

std::vector<Change> Announcer::take_changes(Moment now) { return state_->take_changes(now); }

void Announcer::restore(const std::vector<std::pair<std::string, Tree>>& kept, Wall saved_wall,
                        Moment now) {
  auto fresh = std::make_unique<State>(state_->settings, state_->zone);
  fresh->restore(kept, saved_wall, now);
  state_ = std::move(fresh);
}

std::vector<Announcer::Waiting> Announcer::waiting() const { return state_->outbox.waiting(); }

std::uint64_t Announcer::dropped() const { return state_->outbox.dropped(); }

}  // namespace clutchward
