// Deeds that fit alarms, and the commands of one answer.
#include "access/answerable.h"

#include <algorithm>

namespace clutchward {
namespace {

// Times since boot become wall times anew whenever they are asked for, and the clock may have been
// put right meanwhile.
constexpr Span kSlack = std::chrono::seconds{1};

}  // namespace

bool fits(Deed deed, const AlarmView& alarm) {
  if (alarm.state == AlarmState::out_of_service) return false;
  switch (deed) {
    case Deed::acknowledge:
      return alarm.state == AlarmState::unacknowledged ||
             (alarm.state == AlarmState::returned && !alarm.acknowledged);
    case Deed::snooze:
      return alarm.active;
    case Deed::unsnooze:
      return alarm.snoozed_until.has_value();
    case Deed::pass_on:
      return alarm.active && !alarm.acknowledged;
    case Deed::reset:
      return alarm.state == AlarmState::latched || alarm.state == AlarmState::returned;
    default:
      return false;
  }
}

Link link_of(const Notification& message, std::size_t others) {
  Link link;
  link.alarm = message.subject;
  link.episode = message.episode;
  link.person = message.contact;
  link.told_at = message.made_at;
  for (const AlarmEvent& event : message.events) {
    const std::string& cabinet = event.key.cabinet;
    if (cabinet == link.alarm.cabinet || cabinet.empty() || link.cabinets.size() >= others)
      continue;
    if (std::find(link.cabinets.begin(), link.cabinets.end(), cabinet) == link.cabinets.end())
      link.cabinets.push_back(cabinet);
  }
  return link;
}

std::vector<Command> commands_for(const Link& link, const std::string& by,
                                  std::optional<double> minutes, const AlarmsOf& alarms_of) {
  std::vector<Command> commands;
  std::vector<std::string> cabinets = link.cabinets;
  cabinets.insert(cabinets.begin(), link.alarm.cabinet);
  for (const std::string& cabinet : cabinets) {
    for (const AlarmView& alarm : alarms_of(cabinet)) {
      const bool told = (alarm.key == link.alarm && alarm.episode == link.episode) ||
                        (alarm.raised_at && *alarm.raised_at <= link.told_at + kSlack);
      if (!told || !fits(link.deed, alarm)) continue;
      Command command;
      command.by = by;
      command.deed = link.deed;
      command.cabinet = cabinet;
      command.batch = alarm.key.batch;
      command.alarm = alarm.key.alarm;
      command.episode = alarm.episode;
      if (minutes)
        command.minutes =
            std::min(*minutes, static_cast<double>(alarm.snooze_max.count()) / 60'000);
      commands.push_back(std::move(command));
    }
  }
  return commands;
}

}  // namespace clutchward
