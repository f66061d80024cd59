// From the rows of a history to figures.
#include <algorithm>
#include <cmath>
#include <utility>

#include "quality.h"

namespace clutchward {
namespace {

using Json = nlohmann::ordered_json;

std::string text_of(const Json& json, const char* key) {
  const auto found = json.find(key);
  return found != json.end() && found->is_string() ? found->get<std::string>() : std::string();
}

std::optional<Milli> milli_of(const Json& json, const char* key) {
  const auto found = json.find(key);
  if (found == json.end() || !found->is_number()) return std::nullopt;
  const double value = found->get<double>();
  // Past a million of anything it is no reading of ours.
  if (!(std::abs(value) < 1e6)) return std::nullopt;
  return static_cast<Milli>(std::llround(value * 1000));
}

template <class Names>
std::optional<std::size_t> index_of(const Names& names, const std::string& word) {
  const auto found = std::find(names.begin(), names.end(), word);
  if (found == names.end()) return std::nullopt;
  return static_cast<std::size_t>(found - names.begin());
}

std::optional<Priority> priority_of(const std::string& word) {
  for (const Priority one : {Priority::low, Priority::medium, Priority::high})
    if (name_of(one) == word) return one;
  return std::nullopt;
}

// None where the row holds no event of ours.
std::optional<AlarmEvent> event_of(const HistoryEvent& row, const Json& json) {
  if (!json.is_object()) return std::nullopt;
  const auto kind = index_of(kEventNames, text_of(json, "event"));
  AlarmEvent event;
  event.at = row.at;
  event.key = {row.cabinet, row.batch, text_of(json, "alarm")};
  if (!kind || event.key.alarm.empty()) return std::nullopt;
  event.kind = static_cast<EventKind>(*kind);
  event.value = milli_of(json, "value");
  event.limit = milli_of(json, "limit");
  return event;
}

using Reach = std::optional<std::pair<Wall, Wall>>;

// The first minute's beginning and the last one's end within the question's times, whatever
// cabinet: how long was watched. The last is looked for by halving, since the file is read forwards
// only.
Result<Reach> reach_of(const HistoryFile& file, const HistoryQuestion& question) {
  std::string why;
  const auto next_from = [&](std::optional<Wall> from) {
    HistoryQuestion ask;
    ask.from = from;
    ask.to = question.to;
    std::optional<std::int64_t> found;
    const auto trouble = file.minutes(ask, [&](const HistoryMinute& row) {
      found = row.minute;
      return false;
    });
    if (trouble) why = trouble->why;
    return found;
  };
  const auto first = next_from(question.from);
  if (!why.empty()) return Refusal{why};
  if (!first) return Reach();
  std::int64_t last = *first;
  for (std::int64_t step = std::int64_t{1} << 27; step > 0; step /= 2)
    if (const auto found = next_from(Wall(std::chrono::minutes(last + step)))) last = *found;
  if (!why.empty()) return Refusal{why};
  return Reach(std::pair(Wall(std::chrono::minutes(*first)), Wall(std::chrono::minutes(last + 1))));
}

}  // namespace

Result<QualityShown> read_quality(const HistoryFile& file, const HistoryQuestion& question) {
  QualityShown out;
  out.source = "history";
  out.names = {""};
  AlarmTally tally;
  std::optional<Wall> first;
  Wall last{};
  const auto seen = [&](Wall at) {
    first = first ? std::min(*first, at) : at;
    last = std::max(last, at);
  };
  const auto take = [&](const HistoryEvent& row) {
    const Json json = Json::parse(row.json, nullptr, false);
    const auto event = event_of(row, json);
    if (!event) {
      ++out.unreadable;
      return true;
    }
    seen(event->at);
    tally.take(*event, priority_of(text_of(json, "priority")));
    return true;
  };
  if (const auto why = file.events(question, take)) return Refusal{why->why};
  // Without a cabinet, or a batch whose alarms lie about: how long was watched is what minutes say.
  const auto reach = reach_of(file, question);
  if (!reach) return Refusal{reach.why()};
  if (*reach) {
    seen((*reach)->first);
    seen((*reach)->second);
  }
  if (first) {
    out.played.from = question.from ? std::max(*question.from, *first) : *first;
    out.played.until = last;
    PeopleTally people;
    if (const auto why = file.told_from(out.told_from)) return Refusal{why->why};
    if (const auto why = read_told(file, question, people, out.unreadable); !why.empty())
      return Refusal{why};
    const Wall since = std::max(*out.played.from, out.told_from.value_or(*out.played.from));
    out.played.sides.push_back({tally.figures(*out.played.from, out.played.until),
                                people.figures(since, out.played.until), 0});
  }
  return out;
}

}  // namespace clutchward
