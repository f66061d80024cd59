// Who knows of an alarm, in words.
#include "web/told_words.h"

#include <algorithm>

namespace clutchward {
namespace {

// Who passed the alarm on since it rang last, the latest first.
std::vector<const AlarmEvent*> passes(const AlarmView& alarm,
                                      const std::deque<AlarmEvent>& lately) {
  std::vector<const AlarmEvent*> found;
  for (auto event = lately.rbegin(); event != lately.rend(); ++event) {
    if (event->key != alarm.key) continue;
    if (event->kind == EventKind::raised || event->kind == EventKind::raised_again ||
        event->kind == EventKind::worsened)
      break;
    if (event->kind == EventKind::passed_on) found.push_back(&*event);
  }
  return found;
}

std::string names(const std::vector<std::string>& people) {
  std::string text;
  for (std::size_t i = 0; i < people.size(); ++i) {
    if (i > 0) text += i + 1 == people.size() ? " and " : ", ";
    text += name_in_words(people[i]);
  }
  return text;
}

}  // namespace

std::string name_in_words(const std::string& person) {
  std::string name = person.empty() ? "Somebody" : person;
  if (name[0] >= 'a' && name[0] <= 'z') name[0] = static_cast<char>(name[0] - 'a' + 'A');
  return name;
}

std::string told_words(const AlarmView& alarm, const std::optional<WhoKnows>& told,
                       const std::deque<AlarmEvent>& lately, const PageWords& words) {
  if (!alarm.active || alarm.acknowledged) return {};
  std::string text;
  const auto add = [&](const std::string& part) { text += (text.empty() ? "" : " ") + part; };
  if (told && !told->told.empty()) add("Told: " + names(told->told) + ".");
  if (told && !told->on_way.empty()) add("On its way to: " + names(told->on_way) + ".");
  if (const auto passed = passes(alarm, lately); !passed.empty())
    add(name_in_words(passed.front()->by.value_or("")) + " passed it on at " +
        words.clock(passed.front()->at) + ".");
  if (told && !told->somebody_left) add("Nobody is left to pass it on to.");
  return text;
}

std::optional<Wall> passed_on_by(const std::string& person, const AlarmView& alarm,
                                 const std::deque<AlarmEvent>& lately) {
  for (const AlarmEvent* each : passes(alarm, lately))
    if (each->by == person) return each->at;
  return std::nullopt;
}

}  // namespace clutchward
