// Deeds that fit alarms.
#include "web/answers.h"

#include <algorithm>

#include "base/limits.h"
#include "base/text.h"

namespace clutchward {

Answers answers_for(const std::vector<AlarmView>& alarms) {
  Answers answers;
  for (const AlarmView& alarm : alarms) {
    const auto note = [&](Deed deed, bool& flag) {
      if (!fits(deed, alarm)) return false;
      flag = true;
      return true;
    };
    bool told = note(Deed::acknowledge, answers.acknowledge);
    told = note(Deed::snooze, answers.snooze) || told;
    told = note(Deed::unsnooze, answers.unsnooze) || told;
    told = note(Deed::pass_on, answers.pass_on) || told;
    told = note(Deed::reset, answers.reset) || told;
    // Leaves room for the form's other fields.
    if (told && answers.covers.size() + 16 < limits::kFormFields)
      answers.covers.push_back(alarm.key.batch + "/" + alarm.key.alarm + "/" + alarm.episode);
  }
  return answers;
}

std::optional<Covered> covered(std::string_view text) {
  const auto first = text.find('/');
  const auto second = first == std::string_view::npos ? first : text.find('/', first + 1);
  if (second == std::string_view::npos) return std::nullopt;
  Covered out{std::string(text.substr(0, first)),
              std::string(text.substr(first + 1, second - first - 1)),
              std::string(text.substr(second + 1))};
  if ((!out.batch.empty() && !valid_id(out.batch)) || !valid_id(out.alarm) ||
      out.episode.size() > 128 || out.episode.find('/') != std::string::npos)
    return std::nullopt;
  return out;
}

std::optional<Wall> rings_again(const std::vector<AlarmView>& alarms, Wall now) {
  std::optional<Wall> first;
  for (const AlarmView& alarm : alarms) {
    if (!alarm.active || !alarm.acknowledge_holds || !fits(Deed::acknowledge, alarm)) continue;
    const Wall at = now + *alarm.acknowledge_holds;
    first = first ? std::min(*first, at) : at;
  }
  return first;
}

}  // namespace clutchward
