// Reads `daily`, `beats` and `watch`.
#include "config/watch_reader.h"

#include <algorithm>

#include "base/text.h"
#include "config/address.h"
#include "config/day_hours.h"
#include "config/values.h"

namespace clutchward {
namespace {

constexpr std::size_t kBeats = 16;
constexpr Span kShortestBeat = std::chrono::seconds{10};

std::optional<Span> read_hour(const Field& field) {
  const auto hour = field.is_word() ? parse_time_of_day(field.node.text) : std::nullopt;
  if (!hour) field.fault("a time of day such as \"08:00\"");
  return hour;
}

std::optional<BeatSettings> read_beat(const Field& field) {
  const Section section(field, {"url", "topic", "every", "method"});
  if (!section) return std::nullopt;
  if (section.has("url") == section.has("topic")) {
    field.refuse(field.path + (section.has("url")
                                   ? " has both url and topic; expected one of the two"
                                   : " is no beat; expected url or topic"));
    return std::nullopt;
  }
  BeatSettings beat;
  if (const auto url = section.find("url")) beat.url = read_url(*url, {"http", "https"}, true);
  if (const auto topic = section.find("topic")) {
    const std::string expected = "a topic without '+' and '#'";
    beat.topic = read_text(*topic, expected).value_or("");
    if (beat.topic.find_first_of("+#") != std::string::npos) topic->fault(expected);
  }
  if (const auto method = section.find("method")) {
    static const std::vector<std::string> kMethods = {"GET", "POST"};
    if (const auto index = read_choice(*method, kMethods)) beat.method = kMethods[*index];
    if (section.has("topic"))
      method->refuse(method->path + " does not belong to a topic; expected it with url only");
  }
  const std::string expected = "a span of at least 10s, such as 5min";
  if (const auto every = section.need("every", expected)) {
    beat.every = read_span(*every, Zero::refused).value_or(beat.every);
    if (beat.every < kShortestBeat) every->fault(expected);
  }
  return beat;
}

// "monday", a list of such, or "daily".
std::vector<std::chrono::weekday> read_weekdays(const Field& field) {
  static const std::vector<std::string> kDays = {"monday", "tuesday",  "wednesday", "thursday",
                                                 "friday", "saturday", "sunday",    "daily"};
  constexpr std::size_t kDaily = 7;
  std::vector<std::size_t> found;
  const auto take = [&](const Field& word) {
    const auto day = read_choice(word, kDays);
    if (!day) return;
    if (*day != kDaily && std::find(found.begin(), found.end(), *day) == found.end())
      found.push_back(*day);
    else if (*day != kDaily)
      word.refuse(word.path + " names " + kDays[*day] + " again; expected each day once");
    else if (&word == &field)
      found = {0, 1, 2, 3, 4, 5, 6};
    else
      word.fault("a day of the week; daily stands alone");
  };
  if (field.is_word())
    take(field);
  else
    for (const Field& item : field.items("a day such as monday, a list of days, or daily"))
      take(item);
  if (field.node.kind == YamlNode::Kind::list && field.node.members.empty())
    field.refuse(field.path + " names no day; expected one such as monday, or test: off");
  std::sort(found.begin(), found.end());
  std::vector<std::chrono::weekday> days;
  for (const std::size_t day : found)  // Sunday is 0 to chrono
    days.emplace_back(static_cast<unsigned>((day + 1) % 7));
  return days;
}

std::optional<TestSettings> read_test(const Field& field, const Contacts& contacts) {
  const Section section(field, {"on", "at", "notify"});
  if (!section) return std::nullopt;
  TestSettings test;
  if (const auto on = section.find("on")) test.on = read_weekdays(*on);
  if (const auto at = section.find("at")) test.at = read_hour(*at).value_or(test.at);
  if (const auto notify = section.need("notify", "a list of contacts such as [mara]")) {
    const Rotas none;  // a test is for these people's own channels, whoever is on duty
    read_notify(*notify, contacts, none, test.notify);
  }
  return test;
}

}  // namespace

std::optional<DailySettings> read_daily(const Field& field, const Settings& settings) {
  const Section section(field, {"at", "notify"});
  if (!section) return std::nullopt;
  DailySettings daily;
  if (const auto at = section.find("at")) daily.at = read_hour(*at).value_or(daily.at);
  if (const auto notify = section.need("notify", "a list of contacts such as [mara]")) {
    read_notify(*notify, settings.contacts, settings.rotas, daily.notify);
  }
  return daily;
}

std::vector<BeatSettings> read_beats(const Field& field) {
  std::vector<BeatSettings> beats;
  const auto items = field.items("a list of beats, each { url: URL, every: SPAN }");
  if (items.size() > kBeats) {
    field.refuse(field.path + " has " + std::to_string(items.size()) + " beats; expected at most " +
                 std::to_string(kBeats));
    return beats;
  }
  for (const Field& item : items)
    if (auto beat = read_beat(item)) beats.push_back(std::move(*beat));
  return beats;
}

WatchSettings read_watch(const Field& field, const Contacts& contacts) {
  WatchSettings watch;
  const Section section(field, {"test", "channel_fails", "channel_slow"});
  if (!section) return watch;
  if (const auto test = section.find("test")) {
    if (!test->is_off()) watch.test = read_test(*test, contacts);
  }
  if (const auto fails = section.find("channel_fails")) {
    watch.channel_fails = read_span(*fails, Zero::refused).value_or(watch.channel_fails);
  }
  if (const auto slow = section.find("channel_slow")) {
    watch.channel_slow = read_span(*slow, Zero::refused).value_or(watch.channel_slow);
  }
  return watch;
}

}  // namespace clutchward
