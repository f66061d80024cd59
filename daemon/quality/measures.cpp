// The table of measures. Targets as seen mostly in secondary articles that cite the standard's
// clause, and said so.
#include "quality/measures.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace clutchward {
namespace {

constexpr const char* kTable5 = "ISA-18.2-2016 16.4.2 table 5, as a secondary article cites it";
constexpr const char* kDay =
    "IEC 62682 (ISA-18.2-2009: about 150), as secondary articles cite them";
constexpr const char* kPeak = "ISA-18.2-2016 16.4.3, as a secondary article cites it";
constexpr const char* kFlood = "ISA-18.2-2016 16.4.4, as a secondary article cites it";
constexpr const char* kTen = "ISA-18.2-2016 16.4.5, as a secondary article cites it";
constexpr const char* kChatter = "ISA-18.2-2016 16.4.6, as a secondary article cites it";
constexpr const char* kIndex = "Kondaveeti's index, as a secondary article gives it";
constexpr const char* kStale = "ISA-18.2-2016 16.4.7, as a secondary article cites it";
constexpr const char* kSplit = "ISA-18.2-2016 16.4.8 table 6, as a secondary article cites it";
constexpr const char* kOwn = "no published target seen";

QualityMeasure measure(const char* key, const char* what, std::optional<double> value,
                       const char* unit, const char* target, const char* source) {
  QualityMeasure out;
  out.key = key;
  out.what = what;
  out.value = value;
  out.unit = unit;
  out.target = target;
  out.source = source;
  return out;
}

Verdict judged(bool within) { return within ? Verdict::within : Verdict::past; }

void too_little(QualityMeasure& one, std::string why) {
  one.verdict = Verdict::too_little;
  one.why = std::move(why);
}

void judge_by_time(QualityMeasure& one, Span watched, bool within) {
  one.verdict = judged(within);
  // A count past its target is so whatever a longer time would show.
  if (within && watched < kEnoughTime) too_little(one, "30 days are asked for");
}

// A rate or a share, which one bad hour in a short record would drive up.
void judge_average(QualityMeasure& one, Span watched, bool within) {
  judge_by_time(one, watched, within);
  if (watched < kAverageTime) too_little(one, "less than a day");
}

double percent(std::uint64_t part, std::uint64_t whole) {
  return whole == 0 ? 0 : 100.0 * static_cast<double>(part) / static_cast<double>(whole);
}

double seconds_of(Span span) { return std::chrono::duration<double>(span).count(); }

void add_split(const TallyFigures& figures, std::vector<QualityMeasure>& out) {
  struct Part {
    const char* priority;
    const char* key;
    const char* what;
    double target;
    const char* text;
  };
  // Within half as much again and as much less counts as met (our own choice: the table says
  // "about").
  constexpr std::array<Part, 3> kParts = {
      {{"low", "share_low", "of them low", 80, "about 80 %"},
       {"medium", "share_medium", "of them medium", 15, "about 15 %"},
       {"high", "share_high", "of them high", 5, "about 5 %"}}};
  std::uint64_t all = 0;
  for (const auto& [word, count] : figures.annunciated_by_priority)
    if (word != "unknown") all += count;
  for (const Part& part : kParts) {
    const auto found = figures.annunciated_by_priority.find(part.priority);
    const std::uint64_t count = found == figures.annunciated_by_priority.end() ? 0 : found->second;
    std::optional<double> value;
    if (all > 0) value = percent(count, all);
    auto one = measure(part.key, part.what, value, "%", part.text, kSplit);
    if (all < kEnoughAlarms)
      too_little(one,
                 std::to_string(all) + " alarms, " + std::to_string(kEnoughAlarms) + " at least");
    else
      one.verdict = judged(*value >= part.target / 2 && *value <= part.target * 1.5);
    out.push_back(std::move(one));
  }
}

void add_answers(const TallyFigures& figures, std::vector<QualityMeasure>& out) {
  const std::uint64_t over = figures.acknowledged + figures.never_acknowledged;
  std::optional<double> never;
  if (over > 0) never = percent(figures.never_acknowledged, over);
  out.push_back(measure("never_acknowledged", "never acknowledged", never, "%", "none", kOwn));
  for (const unsigned part : {50U, 95U}) {
    const auto waited = figures.answers.percentile(part);
    auto one =
        measure(part == 50 ? "answer_p50" : "answer_p95",
                part == 50 ? "answered within, half of them" : "answered within, 95 %",
                waited ? std::optional(seconds_of(*waited)) : std::nullopt, "s", "none", kOwn);
    if (figures.answers.count() < kEnoughAlarms)
      too_little(one, std::to_string(figures.answers.count()) + " answers, " +
                          std::to_string(kEnoughAlarms) + " at least");
    out.push_back(std::move(one));
  }
}

}  // namespace

std::string_view name_of(Verdict verdict) {
  constexpr std::array<std::string_view, 4> kNames = {"within", "past", "too_little", "none"};
  return kNames[static_cast<std::size_t>(verdict)];
}

std::vector<QualityMeasure> load_measures(const LoadFigures& load, const std::string& who) {
  std::vector<QualityMeasure> out;
  const auto add = [&](QualityMeasure one, bool within) {
    one.who = who;
    judge_average(one, load.watched, within);
    out.push_back(std::move(one));
  };
  add(measure("alarms_a_day", "alarms a day", load.per_day(), "", "at most 144", kDay),
      load.per_day() <= 144);
  add(measure("alarms_in_10_min", "in 10 min, on average", load.per_10_min(), "",
              "about 1, at most 2", kTable5),
      load.per_10_min() <= 2);
  auto peak = measure("peak_in_10_min", "most in 10 min", static_cast<double>(load.peak), "",
                      "at most 10", kPeak);
  peak.who = who;
  judge_by_time(peak, load.watched, load.peak <= 10);
  out.push_back(std::move(peak));
  add(measure("busy_share", "of 10-min windows with more than 10", 100 * load.busy_share(), "%",
              "under 1 %", kPeak),
      load.busy_share() < 0.01);
  add(measure("flood_time", "of the time in flood", 100 * load.flood_time_share(), "%", "under 1 %",
              kFlood),
      load.flood_time_share() < 0.01);
  auto in_flood =
      measure("flood_alarms", "of the alarms in flood", std::nullopt, "%", "none", kOwn);
  if (load.alarms > 0) in_flood.value = 100 * load.flood_alarm_share();
  in_flood.who = who;
  out.push_back(std::move(in_flood));
  return out;
}

std::vector<QualityMeasure> alarm_measures(const TallyFigures& figures) {
  std::vector<QualityMeasure> out;
  const auto add = [&](QualityMeasure one, bool within) {
    judge_by_time(one, figures.load.watched, within);
    out.push_back(std::move(one));
  };
  auto ten = measure("ten_most", "of the raises by the ten most frequent", std::nullopt, "%",
                     "1 to 5 %", kTen);
  if (figures.raised > 0) ten.value = percent(figures.ten_most, figures.raised);
  // Ten of a hundred evenly busy ones are 10 %: below that many the target cannot be met.
  if (figures.different <= 200)
    too_little(ten,
               std::to_string(figures.different) + " different alarms, more than 200 at least");
  else
    ten.verdict = judged(*ten.value <= 5);
  out.push_back(std::move(ten));
  add(measure("chattering", "alarms that chatter", static_cast<double>(figures.chattering), "", "0",
              kChatter),
      figures.chattering == 0);
  add(measure("chatter_index", "worst chatter index, a second", figures.worst_chatter_index, "",
              "under 0.05", kIndex),
      figures.worst_chatter_index < 0.05);
  add(measure("fleeting", "fleeting (gone within 10 s)", static_cast<double>(figures.fleeting), "",
              "0", kChatter),
      figures.fleeting == 0);
  add(measure("stale_a_day", "stale (over 24 h), most on a day",
              static_cast<double>(figures.stale_a_day), "", "under 5", kStale),
      figures.stale_a_day < 5);
  add_split(figures, out);
  add_answers(figures, out);
  return out;
}

}  // namespace clutchward
