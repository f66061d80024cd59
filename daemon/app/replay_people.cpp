// The announcer beside a replayed engine.
#include "app/replay_people.h"

#include <ostream>

#include "wire/message_json.h"

namespace clutchward {

void ReplayPeople::tell(Engine& engine, const std::vector<AlarmEvent>& events, Moment now) {
  if (!events.empty()) announcer_.tell(events, engine, now);
  for (const std::string& cabinet : engine.take_attending_ended())
    announcer_.attending_ended(cabinet, engine, now);
  announcer_.advance(engine, now);
  send(engine, now);
}

void ReplayPeople::advance(const Engine& engine, Moment now) {
  announcer_.advance(engine, now);
  send(engine, now);
}

void ReplayPeople::send(const Engine& engine, Moment now) {
  announcer_.take_changes(now);
  for (const Notification& message : announcer_.take_due(now)) {
    const auto& channels = settings_.contacts.at(message.contact);
    const auto way = channels.at(static_cast<std::size_t>(message.channel)).kind();
    const DeliveryReport report{message.id, Outcome::delivered, "", std::nullopt};
    if (output_ != nullptr) *output_ << to_json(message, way) << '\n';
    if (rows_ != nullptr) {
      told_.sent(message, way, *rows_);
      told_.report(report, now.wall, *rows_);
    }
    announcer_.report(report, engine, now);
  }
  announcer_.take_changes(now);
}

}  // namespace clutchward
