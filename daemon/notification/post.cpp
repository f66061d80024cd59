// Into the outbox: one message a channel that takes it. Here alone is decided which channels those
// are. It writes no text.
#include <algorithm>
#include <utility>

#include "notification/state.h"

namespace clutchward {
namespace {

// Plain ASCII that may stand in a header: "20260301T021400000Z-17-setter-a".
std::string id_of(Wall made_at, std::uint64_t number, const std::string& cabinet) {
  constexpr std::size_t kNameBytes = 32;
  std::string id;
  for (const char letter : to_rfc3339(made_at))
    if (letter != '-' && letter != ':' && letter != '.') id += letter;
  id += "-" + std::to_string(number) + "-";
  std::string name = cabinet.empty() ? "site" : plain(cabinet).substr(0, kNameBytes);
  for (char& letter : name) {
    const bool word = (letter >= 'a' && letter <= 'z') || (letter >= 'A' && letter <= 'Z') ||
                      (letter >= '0' && letter <= '9') || letter == '-' || letter == '_';
    if (!word) letter = '-';
  }
  return id + name;
}

Priority priority_of(Urgency urgency) {
  if (urgency == Urgency::high) return Priority::high;
  return urgency == Urgency::medium ? Priority::medium : Priority::low;
}

}  // namespace

std::vector<std::size_t> Announcer::State::channels_for(const std::string& contact, Urgency urgency,
                                                        Priority about) const {
  const auto& channels = channels_of(contact);
  // Nothing rings for a quiet word; it goes where the alarm itself went.
  const bool quiet = urgency == Urgency::quiet;
  const Priority priority = quiet ? about : std::max(about, priority_of(urgency));
  std::vector<std::size_t> fit;
  std::vector<std::size_t> all;
  for (std::size_t i = 0; i < channels.size(); ++i) {
    if (channels[i].least <= priority && !(quiet && channels[i].ring)) fit.push_back(i);
    if (!channels[i].ring) all.push_back(i);
  }
  if (fit.empty()) fit = std::move(all);
  // Better a ring for little than a fault of the watch that nobody hears of.
  if (fit.empty() && !quiet)
    for (std::size_t i = 0; i < channels.size(); ++i) fit.push_back(i);
  return fit;
}

void Announcer::State::post(const Notification& note, const std::string& contact,
                            std::optional<std::size_t> next_step, Moment now,
                            std::optional<Steady> due) {
  for (const std::size_t i : channels_for(contact, note.urgency, note.about))
    post_to(note, contact, i, next_step, now, due);
}

void Announcer::State::post_to(const Notification& note, const std::string& contact,
                               std::size_t channel, std::optional<std::size_t> next_step,
                               Moment now, std::optional<Steady> due) {
  Notification one = note;
  one.contact = contact;
  one.channel = static_cast<int>(channel);
  one.made_at = now.wall;
  one.about = Priority::low;
  // The number alone never comes twice while the state lives; the time keeps it so where the
  // state was lost.
  one.id = id_of(now.wall, ++last_number, note.subject.cabinet);
  number_changed = true;
  outbox.add(last_number, std::move(one), next_step, due.value_or(now.steady));
}

bool Announcer::State::tell_step(const Notification& note, std::size_t step, Moment now) {
  const Duty who = duty(now);
  const Priority priority = priority_of(note.urgency);
  std::vector<std::string> told;
  std::vector<std::string> later;
  bool there = false;
  const bool any = step < settings.escalation.size();
  for (; step < settings.escalation.size() && !there; ++step)
    for (const std::string& contact : who.people(settings.escalation[step].notify)) {
      // What a contact hears of alarms (`least`) is no word about the watch itself.
      const Presence presence = who.standing(contact).presence;
      const bool now_too = presence == Presence::there ||
                           (presence == Presence::quiet && priority == Priority::high);
      add_contact(now_too ? told : later, contact);
      there = there || now_too;
    }
  if (any && told.empty() && priority == Priority::high) {
    told = who.everybody();
    later.clear();
  }
  for (const std::string& contact : told) post(note, contact, step, now);
  for (const std::string& contact : later) {
    const auto until = who.standing(contact).until;
    if (until) post(note, contact, step, now, now.steady + (*until - now.wall));
  }
  return !told.empty() || !later.empty();
}

}  // namespace clutchward
