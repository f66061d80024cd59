// A batch in words. What was not recorded is not said to have been done.
#include "batch_words.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "cabinet/batch_dates.h"
#include "screen.h"

namespace clutchward {
namespace {

using Json = nlohmann::ordered_json;

// A deed of the record: when, and in which words.
struct Line {
  std::string at;
  std::string what;
};

std::string by(const Json& deed) {
  const std::string who = text_in(deed, "by");
  return who.empty() ? "" : "  " + who;
}

// "30", "2.5"
std::string plain(double value) {
  std::string text = decimals(value, 2);
  while (text.ends_with('0')) text.pop_back();
  if (text.ends_with('.')) text.pop_back();
  return text;
}

// In the order in which they happened.
std::vector<Line> lines_of(const Json& batch) {
  std::vector<Line> lines;
  const auto add = [&](const Json& deed, const std::string& what) {
    lines.push_back({text_in(deed, "at"), what + by(deed)});
  };
  for (const Json& each : items_in(batch, "stages")) add(each, "stage " + text_in(each, "stage"));
  for (const Json& each : items_in(batch, "candlings")) {
    const std::string removed = fates_text(each.value("removed", Json::object()));
    const std::string note = text_in(each, "note");
    add(each, "candled, " + (removed.empty() ? "none taken out" : removed + " taken out") +
                  (note.empty() ? "" : " (" + note + ")"));
  }
  for (const Json& each : items_in(batch, "weighings"))
    add(each, "weighed " + decimals(number_in(each, "eggs").value_or(0), 0) + " eggs, " +
                  decimals(number_in(each, "grams").value_or(0), 1) + " g");
  for (const Json& each : items_in(batch, "moves"))
    add(each, "moved from " + text_in(each, "from") + " to " + text_in(each, "to"));
  for (const Json& each : items_in(batch, "corrections"))
    add(each, "put right: " + text_in(each, "what"));
  std::stable_sort(lines.begin(), lines.end(),
                   [](const Line& a, const Line& b) { return a.at < b.at; });
  return lines;
}

bool has_ended(const Json& batch) { return !text_in(batch, "ended_at").empty(); }

// "40 hatched of 50", and how many nobody has accounted for.
std::string outcome(const Json& batch) {
  const Json fates = batch.value("outcome", Json::object());
  const auto eggs = number_in(batch, "eggs");
  std::string text = fates_text(fates);
  const bool counted = eggs && *eggs > 0;
  if (text.empty())
    return "nobody said what came of " +
           (counted ? "its " + decimals(*eggs, 0) + " eggs" : std::string("it"));
  if (!counted) return text;
  double known = 0;
  const auto count = [&](const Json& some) {
    for (const auto& [fate, number] : some.items())
      if (number.is_number()) known += number.get<double>();
  };
  if (fates.is_object()) count(fates);
  for (const Json& each : items_in(batch, "candlings"))
    count(each.value("removed", Json::object()));
  text += " of " + decimals(*eggs, 0);
  return known < *eggs ? text + "; " + decimals(*eggs - known, 0) + " not accounted for" : text;
}

std::string name_and_eggs(const Json& batch) {
  return text_in(batch, "name") + ", " + eggs_text(batch) + ", in " + text_in(batch, "cabinet");
}

BatchDate date_of(const Json& json) {
  BatchDate date;
  const std::string task = text_in(json, "task");
  for (int kind = 0; kind <= static_cast<int>(TaskKind::end_batch); ++kind)
    if (name_of(static_cast<TaskKind>(kind)) == task) date.kind = static_cast<TaskKind>(kind);
  date.from = parse_rfc3339(text_in(json, "from")).value_or(Wall{});
  date.to = parse_rfc3339(text_in(json, "to")).value_or(date.from);
  date.what = text_in(json, "what");
  date.done = json.value("done", false);
  date.recorded = json.value("recorded", false);
  return date;
}

}  // namespace

std::string decimals(double value, int places) {
  char buffer[48];
  std::snprintf(buffer, sizeof buffer, "%.*f", places, value);
  return buffer;
}

std::string text_in(const Json& in, const char* key) {
  const auto at = in.find(key);
  return at != in.end() && at->is_string() ? tame(at->get<std::string>()) : "";
}

std::optional<double> number_in(const Json& in, const char* key) {
  const auto at = in.find(key);
  return at != in.end() && at->is_number() ? std::optional(at->get<double>()) : std::nullopt;
}

Json items_in(const Json& in, const char* key) {
  const auto at = in.find(key);
  return at != in.end() && at->is_array() ? *at : Json::array();
}

std::string fates_text(const Json& fates) {
  std::string out;
  for (const auto& [fate, eggs] : fates.items()) {
    std::string word = tame(fate);
    std::replace(word.begin(), word.end(), '_', ' ');
    out += (out.empty() ? "" : ", ") + eggs.dump() + " " + word;
  }
  return out;
}

std::string eggs_text(const Json& batch) {
  const auto left = number_in(batch, "eggs_left");
  const auto eggs = number_in(batch, "eggs");
  if (!eggs || !left) return "eggs not counted";
  return decimals(*left, 0) + " of " + decimals(*eggs, 0) + " eggs";
}

std::string BatchWords::when(const std::string& rfc3339) const {
  const auto time = parse_rfc3339(rfc3339);
  if (!time) return {};
  const auto local = watch_.zone.to_local(*time).time_since_epoch();
  const std::string text = to_rfc3339(Wall{std::chrono::floor<std::chrono::minutes>(local)});
  return text.substr(0, 10) + " " + text.substr(11, 5) + " " + watch_.zone.abbreviation_at(*time);
}

std::string BatchWords::next(const Json& batch) const {
  for (const Json& json : items_in(batch, "dates")) {
    const BatchDate date = date_of(json);
    if (date.done || is_left_behind(date, watch_.now)) continue;
    return (date.to < watch_.now ? "overdue: " : "next: ") + date.what + " (" +
           when(to_rfc3339(date.from)) + ")";
  }
  return {};
}

std::string BatchWords::list_line(const Json& batch) const {
  std::string line =
      text_in(batch, "batch") + "  " + name_and_eggs(batch) + ", " + text_in(batch, "phase");
  if (const auto day = number_in(batch, "day"))
    line += ", day " + decimals(std::floor(*day), 0) + " of " +
            plain(number_in(batch, "days").value_or(0));
  const std::string coming = next(batch);
  return line + (coming.empty() ? "" : "; " + coming) + "\n";
}

std::string BatchWords::deeds(const Json& batch) const {
  std::string text;
  for (const Line& line : lines_of(batch)) text += "  " + when(line.at) + "  " + line.what + "\n";
  if (!has_ended(batch)) return text;
  const std::string who = text_in(batch, "ended_by");
  return text + "  " + when(text_in(batch, "ended_at")) + "  ended: " + outcome(batch) +
         (who.empty() ? "" : "  " + who) + "\n";
}

std::string BatchWords::dates(const Json& batch) const {
  const auto ended = parse_rfc3339(text_in(batch, "ended_at"));
  std::string text;
  for (const Json& json : items_in(batch, "dates")) {
    const BatchDate date = date_of(json);
    if (ended && date.kind == TaskKind::end_batch) continue;
    text += "  " + when(to_rfc3339(date.from));
    if (date.from != date.to) text += " to " + when(to_rfc3339(date.to));
    text += "  " + date.what;
    if (date.recorded)
      text += " (done)";
    else if (ended && date.from > *ended)
      text += " (did not come: ended before)";
    text += "\n";
  }
  return text;
}

std::string BatchWords::shown(const Json& batch) const {
  std::string text = text_in(batch, "batch") + ": " + name_and_eggs(batch) + ", " +
                     text_in(batch, "phase") + "\nset " + when(text_in(batch, "set_at"));
  if (const auto stored = number_in(batch, "stored_days"))
    text += ", stored " + plain(*stored) + " days before";
  const std::string from = text_in(batch, "split_from");
  if (!from.empty()) text += ", split from " + from;
  text += "\n";
  if (!text_in(batch, "note").empty()) text += "note: " + text_in(batch, "note") + "\n";
  return text + "What was done:\n" + deeds(batch) + "Dates:\n" + dates(batch);
}

std::string BatchWords::now_true(const Json& batch) const {
  const std::string id = text_in(batch, "batch");
  if (has_ended(batch))
    return id + " ended " + when(text_in(batch, "ended_at")) + ": " + outcome(batch) + "\n";
  const auto set_at = parse_rfc3339(text_in(batch, "set_at"));
  std::string text = id + ": " + name_and_eggs(batch) +
                     (set_at && *set_at > watch_.now ? ", to be set " : ", set ") +
                     when(text_in(batch, "set_at")) + "\n";
  // What a person did; a stage begins by itself.
  const auto lines = lines_of(batch);
  for (auto last = lines.rbegin(); last != lines.rend(); ++last) {
    if (last->what.starts_with("stage ")) continue;
    return text + "last: " + last->what + ", " + when(last->at) + "\n";
  }
  return text;
}

}  // namespace clutchward
