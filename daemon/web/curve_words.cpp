// A curve in words and as a table.
#include <algorithm>
#include <map>

#include "base/text.h"
#include "web/curve_view.h"
#include "web/page_words.h"
#include "web/standing.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

struct Whole {
  Milli low = 0;
  Milli high = 0;
  std::int64_t means = 0;
  std::int64_t count = 0;
  void take(const CurveStep& step) {
    if (count == 0) low = step.low, high = step.high;
    low = std::min(low, step.low);
    high = std::max(high, step.high);
    means += step.mean;
    ++count;
  }
  Milli mean() const { return static_cast<Milli>(means / std::max<std::int64_t>(1, count)); }
};

Whole whole_of(const std::vector<CurveStep>& steps) {
  Whole whole;
  for (const CurveStep& step : steps) whole.take(step);
  return whole;
}

const CurveBand* band_at(const std::vector<CurveBand>& bands, Wall at) {
  for (const CurveBand& band : bands)
    if (at >= band.from && at < band.to) return &band;
  return nullptr;
}

struct Outside {
  Wall from{};
  Wall to{};
};

// Stretches of steps of which some part lay beyond the band.
std::vector<Outside> outside_of(const std::vector<CurveStep>& steps,
                                const std::vector<CurveBand>& bands, Span step) {
  std::vector<Outside> all;
  for (const CurveStep& each : steps) {
    const CurveBand* band = band_at(bands, each.at);
    if (band == nullptr || (each.low >= band->low && each.high <= band->high)) continue;
    if (!all.empty() && each.at - all.back().to <= step)
      all.back().to = each.at + step;
    else
      all.push_back({each.at, each.at + step});
  }
  return all;
}

// In a table whose heads carry the unit.
std::string bare(const std::string& text) { return text.substr(0, text.find(' ')); }
std::string percent(Milli value) { return milli_text(value, 0) + " %"; }

std::string outside_words(const CurveView& view, const PageWords& words) {
  if (view.temperature.empty()) return {};
  const CurveBand& last = view.temperature.back();
  const std::string band = words.temperature(last.low) + " to " + words.temperature(last.high);
  const auto all = outside_of(view.curve->temperature, view.temperature, view.wanted.step);
  if (all.empty()) return "Inside the band (" + band + " now) all the time.";
  Span together{0};
  for (const Outside& each : all) together += each.to - each.from;
  std::string text = "Beyond the band (" + band + " now) ";
  text += all.size() == 1 ? "once" : std::to_string(all.size()) + " times";
  // A step says that it happened within it, and not for how long.
  if (all.size() > 1) text += ", within " + about(together) + " in all; last";
  const Wall end = std::max(std::min(all.back().to, view.wanted.to()), all.back().from + 1min);
  return text + " within the " + about(end - all.back().from) + " from " +
         words.clock(all.back().from) + ".";
}

std::string alarm_words(const CurveAlarm& alarm, const PageWords& words) {
  AlarmView view;
  view.kind = alarm.kind;
  view.quantity = alarm.quantity;
  std::string text = words.fault(view) + " (" + alarm.alarm;
  if (!alarm.batch.empty()) text += " of " + alarm.batch;
  text += ") from " + words.clock(alarm.from);
  text += alarm.to ? " to " + words.clock(*alarm.to) : " on, still so";
  const bool degrees = alarm.kind == RuleKind::above || alarm.kind == RuleKind::below;
  if (alarm.worst && degrees)
    text += ", worst " + (alarm.quantity == Quantity::humidity ? percent(*alarm.worst)
                                                               : words.temperature(*alarm.worst));
  return text;
}

std::string alarms_words(const CurveView& view, const PageWords& words) {
  constexpr std::size_t kTold = 3;
  const auto& alarms = view.alarms;
  if (alarms.empty()) return "No alarm was raised.";
  std::string text =
      std::to_string(alarms.size()) + (alarms.size() == 1 ? " alarm: " : " alarms: ");
  const std::size_t first = alarms.size() - std::min(kTold, alarms.size());
  if (first > 0) text += "the last of them ";
  for (std::size_t i = first; i < alarms.size(); ++i)
    text += (i > first ? "; " : "") + alarm_words(alarms[i], words);
  return text + ".";
}

}  // namespace

std::vector<std::string> curve_words(const CurveView& view, const WatchView& watch) {
  const PageWords words(watch);
  std::vector<std::string> said;
  if (!view.curve) {
    said.emplace_back("The curve is not to be had at this moment. What is watched is not touched.");
    return said;
  }
  const CurveFound& curve = *view.curve;
  if (!curve.trouble.empty() && curve.temperature.empty()) {
    said.push_back("No curve has been kept yet.");
  } else if (curve.temperature.empty()) {
    said.push_back("No reading was kept in this time.");
  } else {
    const Whole heat = whole_of(curve.temperature);
    said.push_back("Between " + words.temperature(heat.low) + " and " +
                   words.temperature(heat.high) + ", on average " + words.temperature(heat.mean()) +
                   ".");
    if (const std::string text = outside_words(view, words); !text.empty()) said.push_back(text);
  }
  if (!curve.humidity.empty()) {
    const Whole air = whole_of(curve.humidity);
    said.push_back("Humidity between " + percent(air.low) + " and " + percent(air.high) +
                   ", on average " + percent(air.mean()) + ".");
  }
  said.push_back(alarms_words(view, words));
  return said;
}

HtmlList curve_rows(const CurveView& view, const WatchView& watch) {
  HtmlList rows;
  if (!view.curve) return rows;
  const PageWords words(watch);
  const bool days = view.day_zero.has_value();
  const Span wide = days ? Span(24h) : Span(1h);
  const Wall zero = view.day_zero.value_or(Wall{});
  std::map<std::int64_t, std::pair<Whole, Whole>> by_row;
  const auto row_of = [&](Wall at) { return (at - zero) / wide; };
  for (const CurveStep& step : view.curve->temperature) by_row[row_of(step.at)].first.take(step);
  for (const CurveStep& step : view.curve->humidity) by_row[row_of(step.at)].second.take(step);
  for (auto row = by_row.rbegin(); row != by_row.rend(); ++row) {
    const auto& [heat, air] = row->second;
    HtmlData each;
    put(each, "at", days ? std::to_string(row->first) : words.clock(zero + row->first * wide));
    put(each, "low", heat.count > 0 ? bare(words.temperature(heat.low)) : "-");
    put(each, "mean", heat.count > 0 ? bare(words.temperature(heat.mean())) : "-");
    put(each, "high", heat.count > 0 ? bare(words.temperature(heat.high)) : "-");
    put(each, "humidity", air.count > 0 ? percent(air.mean()) : "-");
    rows.push_back(std::move(each));
  }
  return rows;
}

}  // namespace clutchward
