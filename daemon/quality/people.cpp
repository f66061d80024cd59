// Messages by person.
#include "quality/people.h"

namespace clutchward {

bool is_annunciation(EventKind kind) {
  return kind == EventKind::raised || kind == EventKind::raised_again ||
         kind == EventKind::worsened;
}

void PeopleTally::take(const Notification& note) {
  Person& person = people_[note.contact];
  std::pair<Wall, std::string> message{note.made_at, note.first_line};
  if (person.last_message == message) return;
  person.last_message = std::move(message);
  ++person.by_urgency[static_cast<std::size_t>(note.urgency)];
  if (note.urgency == Urgency::quiet) return;
  ++person.messages;
  for (const AlarmEvent& event : note.events) {
    if (!is_annunciation(event.kind)) continue;
    const auto [last, fresh] = person.last_told.emplace(event.key, event.at);
    if (!fresh && event.at <= last->second) continue;
    last->second = event.at;
    person.alarms.take(note.made_at);
  }
}

std::vector<PersonFigures> PeopleTally::figures(Wall from, Wall until) const {
  std::vector<PersonFigures> out;
  for (const auto& [contact, person] : people_)
    out.push_back({contact, person.messages, person.by_urgency, person.alarms.figures(from, until),
                   person.others, person.undelivered});
  return out;
}

}  // namespace clutchward
