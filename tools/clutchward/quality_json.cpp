// The document. What cannot be told is null; it leaves no figure out because it is bad.
#include <cmath>

#include "quality.h"
#include "quality/measures.h"

namespace clutchward {
namespace {

using Json = nlohmann::ordered_json;

Json rounded(const std::optional<double>& value) {
  if (!value) return nullptr;
  return std::round(*value * 10'000) / 10'000;
}

Json seconds(const std::optional<Span>& span) {
  if (!span) return nullptr;
  return rounded(std::chrono::duration<double>(*span).count());
}

Json time(const std::optional<Wall>& at) {
  if (!at) return nullptr;
  return to_rfc3339(*at);
}

Json name(const std::string& text) {
  if (text.empty()) return nullptr;
  return text;
}

Json measures_json(const QualitySideOutcome& side) {
  Json out = Json::array();
  auto all = load_measures(side.alarms.load, "");
  for (auto& one : alarm_measures(side.alarms)) all.push_back(std::move(one));
  for (const PersonFigures& person : side.people)
    for (auto& one : load_measures(person.alarms, person.contact)) all.push_back(std::move(one));
  for (const QualityMeasure& one : all)
    out.push_back({{"measure", one.key},
                   {"what", one.what},
                   {"who", name(one.who)},
                   {"value", rounded(one.value)},
                   {"unit", name(one.unit)},
                   {"target", one.target},
                   {"source", one.source},
                   {"verdict", name_of(one.verdict)},
                   {"why", name(one.why)}});
  return out;
}

Json people_json(const QualitySideOutcome& side) {
  Json out = Json::array();
  for (const PersonFigures& person : side.people) {
    const double days =
        std::chrono::duration<double, std::ratio<86400>>(person.alarms.watched).count();
    Json urgencies = Json::object();
    for (std::size_t i = 0; i < person.by_urgency.size(); ++i)
      urgencies[std::string(kUrgencyNames[i])] = person.by_urgency[i];
    out.push_back({{"contact", person.contact},
                   {"messages", person.messages},
                   {"messages_a_day",
                    days > 0 ? rounded(static_cast<double>(person.messages) / days) : Json()},
                   {"by_urgency", urgencies},
                   {"other_messages", person.others},
                   {"undelivered", person.undelivered},
                   {"alarms", person.alarms.alarms},
                   {"floods", person.alarms.floods}});
  }
  return out;
}

// What would have made one of it: a delay is rounded up to the next ten seconds or minute, a
// deadband to the next tenth.
Json remedy(const AlarmTotals& one) {
  Json out = {{"delay_longer_by_s", nullptr}, {"deadband_at_least", nullptr}};
  if (one.stood) {
    const Span step = *one.stood < std::chrono::minutes{1} ? Span(std::chrono::seconds{10})
                                                           : Span(std::chrono::minutes{1});
    out["delay_longer_by_s"] = seconds((*one.stood / step + 1) * step);
  }
  if (one.swing) out["deadband_at_least"] = rounded((*one.swing / 100 + 1) / 10.0);
  return out;
}

Json worst_json(const TallyFigures& figures) {
  Json out = Json::array();
  for (const AlarmTotals& one : figures.worst) {
    Json json = {{"cabinet", name(one.key.cabinet)},
                 {"batch", name(one.key.batch)},
                 {"alarm", one.key.alarm},
                 {"priority", one.priority ? Json(name_of(*one.priority)) : Json()},
                 {"raised", one.raised},
                 {"annunciated", one.annunciated},
                 {"chatter_index", rounded(one.chatter_index)},
                 {"chatters", one.chatters}};
    json.update(remedy(one));
    out.push_back(std::move(json));
  }
  return out;
}

Json answers_json(const WaitTimes& answers) {
  return {{"count", answers.count()},
          {"p50_s", seconds(answers.percentile(50))},
          {"p95_s", seconds(answers.percentile(95))}};
}

Json side_json(const QualitySideOutcome& side, const std::string& called) {
  const TallyFigures& alarms = side.alarms;
  Json answers = answers_json(alarms.answers);
  answers["by_priority"] = Json::object();
  for (const auto& [priority, times] : alarms.answers_by_priority)
    answers["by_priority"][priority] = answers_json(times);
  return {{"name", name(called)},
          {"events", alarms.events},
          {"raised", alarms.raised},
          {"annunciated", alarms.load.alarms},
          {"annunciated_by_priority", Json(alarms.annunciated_by_priority)},
          {"raised_by_rule", Json(alarms.raised_by_rule)},
          {"rate_band", rate_band(alarms.load.per_10_min())},
          {"different_alarms", alarms.different},
          {"floods", alarms.load.floods},
          {"stale", alarms.stale},
          {"acknowledged", alarms.acknowledged},
          {"never_acknowledged", alarms.never_acknowledged},
          {"of_them_snoozed", alarms.only_snoozed},
          {"unanswered_at_the_end", alarms.unanswered},
          {"answers", answers},
          {"refused_commands", side.refused},
          {"people", people_json(side)},
          {"worst", worst_json(alarms)},
          {"measures", measures_json(side)}};
}

Json comparison_json(const OccurrenceSums& sums, const std::string& first,
                     const std::string& second) {
  std::uint64_t earlier = 0;
  std::uint64_t later = 0;
  for (const auto& [lead, count] : sums.leads) {
    earlier += lead > 0 ? count : 0;
    later += lead < 0 ? count : 0;
  }
  return {{"first", first},
          {"second", second},
          {"both", sums.both},
          {"only_first", sums.only_first},
          {"only_second", sums.only_second},
          {"second_earlier", earlier},
          {"second_later", later},
          {"middle_lead_of_second_s", seconds(sums.middle_lead())}};
}

Json occurrence_json(const Occurrence& one) {
  Json sides = Json::array();
  for (const OccurrenceSide& side : one.sides) {
    if (!side.first) {
      sides.push_back(nullptr);
      continue;
    }
    sides.push_back({{"first", time(side.first)},
                     {"priority", name_of(side.highest)},
                     {"raised", side.raised},
                     {"rules", side.rules}});
  }
  return {{"cabinet", name(one.cabinet)},
          {"trouble", one.trouble},
          {"from", time(one.from)},
          {"until", time(one.until)},
          {"sides", sides}};
}

// Since when it is known who was told; null where it is not, or only after all that was watched.
Json people_from(const QualityShown& shown) {
  const QualityPlayed& played = shown.played;
  if (!played.from) return nullptr;
  if (shown.source == "recording") return time(played.from);
  if (!shown.told_from || *shown.told_from > played.until) return nullptr;
  return time(std::max(*played.from, *shown.told_from));
}

}  // namespace

Json quality_json(const QualityShown& shown) {
  const QualityPlayed& played = shown.played;
  const Span watched = played.from ? played.until - *played.from : Span{0};
  Json out = {{"source", shown.source},
              {"file", shown.file},
              {"from", time(played.from)},
              {"until", played.from ? time(played.until) : Json()},
              {"days", rounded(std::chrono::duration<double, std::ratio<86400>>(watched).count())},
              {"enough_time", watched >= kEnoughTime},
              {"answered_by_assumption_after_s", seconds(shown.answer_after)},
              {"people_from", people_from(shown)},
              {"people_kept_from", time(shown.told_from)},
              {"commands", played.commands},
              {"lines", played.lines},
              {"faulty_lines", played.faulty},
              {"unreadable_events", shown.unreadable}};
  out["sides"] = Json::array();
  for (std::size_t i = 0; i < played.sides.size(); ++i)
    out["sides"].push_back(side_json(played.sides[i], shown.names[i]));
  out["comparisons"] = Json::array();
  for (std::size_t i = 0; i < played.sums.size(); ++i)
    out["comparisons"].push_back(
        comparison_json(played.sums[i], shown.names[0], shown.names[i + 1]));
  out["occurrences"] = Json::array();
  for (const Occurrence& one : played.occurrences)
    out["occurrences"].push_back(occurrence_json(one));
  out["occurrences_left_out"] = played.occurrences_left_out;
  return out;
}

}  // namespace clutchward
