// The report's part about heat: curves by the hour, what was beyond the target, cold spells, alarms
// and their answers, and what all of it may do to the day of the hatch.
#include <algorithm>
#include <cmath>
#include <map>

#include "incubation/cold_spell.h"
#include "report/report.h"

namespace clutchward {
namespace {

using std::chrono::hours;
using HoursD = std::chrono::duration<double, std::ratio<3600>>;

// Air below 35 C for an hour: an egg of a hen has then fallen most of the way (our own choice).
constexpr Span kColdFrom = hours{1};
// Below this share of the time with readings no shift of the hatch is told (our own choice).
constexpr double kKnownEnough = 0.8;
// A band that leaves nothing out: only the mean and the known hours are asked for.
constexpr double kNoneBelow = -40;
constexpr double kNoneAbove = 100;

double hours_of(Span span) { return std::chrono::duration_cast<HoursD>(span).count(); }

Json by_hour(const std::vector<CurvePoint>& minutes) {
  Json out = Json::array();
  for (std::size_t i = 0; i < minutes.size();) {
    const Span hour = std::chrono::floor<hours>(minutes[i].at);
    CurvePoint sum{hour, minutes[i].low, 0, minutes[i].high};
    std::size_t count = 0;
    for (; i < minutes.size() && std::chrono::floor<hours>(minutes[i].at) == hour; ++i, ++count) {
      sum.low = std::min(sum.low, minutes[i].low);
      sum.high = std::max(sum.high, minutes[i].high);
      sum.mean += minutes[i].mean;
    }
    out.push_back({{"at", time_text(hour)},
                   {"min", rounded(sum.low)},
                   {"mean", rounded(sum.mean / static_cast<double>(count))},
                   {"max", rounded(sum.high)}});
  }
  return out;
}

std::vector<TemperatureSample> samples_of(const std::vector<CurvePoint>& points) {
  std::vector<TemperatureSample> out;
  out.reserve(points.size());
  for (const CurvePoint& each : points) out.push_back({each.at, each.mean});
  return out;
}

// Airings with the time the eggs had to be warm again; two hours where that was not seen (our own
// choice: what comes later is an excursion).
std::vector<Stretch> airings(const BatchRecord& record) {
  std::vector<Stretch> out;
  for (const CoolingDone& each : record.coolings)
    if (each.verdict != "missed")
      out.push_back({each.from.time_since_epoch(),
                     each.regained.value_or(each.to + hours{2}).time_since_epoch()});
  return out;
}

const char* side_name(Beyond side) { return side == Beyond::above ? "above" : "below"; }

void add_deviations(const std::vector<TemperatureSample>& off, Json& out) {
  out["steps"] = Json::array();
  out["excursions"] = Json::array();
  const auto steps = step_hours(off);
  const auto found = excursions(off);
  if (!steps || !found) return;
  for (const StepHours& each : *steps)
    out["steps"].push_back({{"side", side_name(each.side)},
                            {"by", each.step},
                            {"hours", rounded(each.dose.hours)},
                            {"degree_hours", rounded(each.dose.degree_hours)}});
  for (const Excursion& each : *found)
    out["excursions"].push_back({{"side", side_name(each.side)},
                                 {"from", time_text(each.from)},
                                 {"to", time_text(each.to)},
                                 {"hours", rounded(each.dose.hours)},
                                 {"degree_hours", rounded(each.dose.degree_hours)},
                                 {"farthest", rounded(each.extreme)},
                                 {"step", each.step}});
}

void add_summary(const ReportSource& source, const std::vector<TemperatureSample>& air, Json& out) {
  const double all = hours_of(source.until - source.record.set_at);
  Json& to = out["temperature_summary"];
  to = {{"hours", rounded(all)},
        {"known_hours", 0.0},
        {"mean", nullptr},
        {"coldest", nullptr},
        {"hottest", nullptr}};
  const auto band = band_hours(air, kNoneBelow, kNoneAbove);
  if (!band || air.empty()) return;
  to["known_hours"] = rounded(band->known_hours);
  if (band->mean_c) to["mean"] = rounded(*band->mean_c);
  double low = source.temperature.front().low;
  double high = source.temperature.front().high;
  for (const CurvePoint& each : source.temperature) {
    low = std::min(low, each.low);
    high = std::max(high, each.high);
  }
  to["coldest"] = rounded(low);
  to["hottest"] = rounded(high);
}

void add_humidity(const ReportSource& source, Json& out) {
  Json& to = out["humidity_summary"];
  to = {{"known_hours", 0.0}, {"above_hours", 0.0}, {"below_hours", 0.0}, {"mean", nullptr}};
  double above = 0;
  double below = 0;
  const auto air = samples_of(source.humidity);
  const auto whole = band_hours(air, kNoneBelow, kNoneAbove);
  if (!whole || air.empty()) return;
  for (const StageSpan& stage : source.stages) {
    if (!stage.humid_from || !stage.humid_to) continue;
    std::vector<TemperatureSample> part;
    for (const TemperatureSample& each : air)
      if (each.at >= stage.from && each.at < stage.to) part.push_back(each);
    const auto band = band_hours(part, *stage.humid_from, *stage.humid_to);
    if (!band) continue;
    above += band->above.hours;
    below += band->below.hours;
  }
  to["known_hours"] = rounded(whole->known_hours);
  to["above_hours"] = rounded(above);
  to["below_hours"] = rounded(below);
  if (whole->mean_c) to["mean"] = rounded(*whole->mean_c);
}

double time_constant(const ReportSource& source) {
  if (source.egg_lag_min) return *source.egg_lag_min;
  const BatchRecord& record = source.record;
  if (record.weighings.empty() || record.weighings.front().eggs <= 0) return kHenEggTimeConstantMin;
  const Weighing& first = record.weighings.front();
  const auto minutes = egg_time_constant_min(first.grams / first.eggs);
  return minutes ? *minutes : kHenEggTimeConstantMin;
}

bool still_air(const ReportSource& source, Span at) {
  if (!source.schedule.contains("cabinets")) return false;
  for (const Stay& stay : source.stays)
    for (const Json& each : source.schedule["cabinets"])
      if (each.value("cabinet", "") == stay.cabinet && at >= stay.from.time_since_epoch() &&
          at < stay.to.time_since_epoch())
        return each.value("still_air", false);
  return false;
}

// Adds the spells, and answers with the hours in which the eggs themselves were below 35 C.
double add_cold(const ReportSource& source, const std::vector<TemperatureSample>& air, Json& out) {
  out["cold_spells"] = Json::array();
  double slowed = 0;
  const auto meant = airings(source.record);
  for (const ColdStretch& each : cold_stretches(air, kSlowedC, kColdFrom)) {
    const Span from = air[each.first].at;
    const bool airing = std::any_of(meant.begin(), meant.end(), [&](const Stretch& window) {
      return air[each.first + 1].at >= window.from && air[each.last].at <= window.to + hours{1};
    });
    if (airing) continue;
    const std::vector<TemperatureSample> part(
        air.begin() + static_cast<std::ptrdiff_t>(each.first),
        air.begin() + static_cast<std::ptrdiff_t>(each.last) + 1);
    const double day = hours_of(from - source.record.set_at.time_since_epoch()) / 24;
    const double lag = time_constant(source);
    const auto spell = cold_spell(part, day, source.record.days, lag);
    if (!spell) continue;
    slowed += spell->egg_hours_below_slowed;
    Json advice = Json::array();
    for (const std::string& line : cold_spell_advice(
             *spell, still_air(source, from) ? Machine::still_air : Machine::forced_air))
      advice.push_back(line);
    out["cold_spells"].push_back(
        {{"from", time_text(from)},
         {"to", time_text(part.back().at)},
         {"day", rounded(day, 10)},
         {"coldest_air", spell->coldest_air_c ? Json(rounded(*spell->coldest_air_c)) : Json()},
         {"coldest_egg", spell->coldest_egg_c ? Json(rounded(*spell->coldest_egg_c)) : Json()},
         {"egg_lag_min", rounded(lag, 10)},
         {"egg_hours_below_35", rounded(spell->egg_hours_below_slowed)},
         {"advice", advice}});
  }
  return slowed;
}

void add_shift(const ReportSource& source, const std::vector<TemperatureSample>& off,
               double slowed_hours, Json& out) {
  Json& to = out["hatch_shift"];
  const double all = out["temperature_summary"]["hours"];
  const double known = out["temperature_summary"]["known_hours"];
  const auto cannot = [&](const std::string& why) { to = {{"cannot_be_told", why}}; };
  if (source.stages.empty()) return cannot("no schedule was kept with this batch");
  if (all <= 0 || known < kKnownEnough * all)
    return cannot("only " + std::to_string(std::lround(known)) + " of " +
                  std::to_string(std::lround(all)) + " hours have readings");
  // Hours below 35 C count as an outage; the mean is of the rest, so that none counts twice.
  std::vector<TemperatureSample> usual;
  for (const TemperatureSample& each : off)
    if (each.celsius > -2) usual.push_back(each);
  const auto band = band_hours(usual, kNoneBelow, kNoneAbove);
  if (!band || !band->mean_c) return cannot("no reading near the target");
  // A day in five of a deviation is a fifth of its shift.
  const double share = std::min(1.0, all / 24 / std::max(1.0, source.record.days));
  const auto heat = temperature_shift(source.record.days, *band->mean_c * share);
  if (!heat) return cannot(heat.why());
  HatchShift sum = *heat;
  Json from = Json::array();
  const auto add = [&](const char* what, const HatchShift& each, bool sums) {
    from.push_back({{"cause", what},
                    {"hours", rounded(each.hours, 10)},
                    {"earliest_hours", rounded(each.earliest_hours, 10)},
                    {"latest_hours", rounded(each.latest_hours, 10)}});
    if (!sums) return;
    sum.hours += each.hours;
    sum.earliest_hours += each.earliest_hours;
    sum.latest_hours += each.latest_hours;
  };
  add("mean deviation from the target", *heat, false);
  if (source.record.stored_days)
    if (const auto shift = storage_shift(*source.record.stored_days))
      add("storage before setting", *shift, true);
  if (slowed_hours > 0)
    if (const auto shift = outage_shift(slowed_hours)) add("cold spells", *shift, true);
  to = {{"hours", rounded(sum.hours, 10)},
        {"earliest_hours", rounded(sum.earliest_hours, 10)},
        {"latest_hours", rounded(sum.latest_hours, 10)},
        {"mean_deviation", rounded(*band->mean_c)},
        {"from", from}};
}

void add_alarms(const ReportSource& source, Json& out) {
  std::vector<AlarmTold> told;
  std::map<std::pair<std::string, Span>, Json> raised;
  for (const Json& each : source.events) {
    const auto at = parse_rfc3339(each.value("at", ""));
    if (!at) continue;
    const std::string key = (each["cabinet"].is_string() ? each.value("cabinet", "") : "") + "\n" +
                            each.value("alarm", "");
    const std::string by =
        each.contains("by") && each["by"].is_string() ? each.value("by", "") : "";
    told.push_back({at->time_since_epoch(), key, each.value("event", ""), by});
    raised.emplace(std::pair(key, told.back().at), each);
  }
  out["alarms"] = Json::array();
  for (const Answered& each : answers(told)) {
    const Json& event = raised[{each.alarm, each.raised}];
    Json line;
    line["raised"] = time_text(each.raised);
    for (const char* key :
         {"cabinet", "alarm", "kind", "quantity", "priority", "latched", "value", "limit"})
      line[key] = event.contains(key) ? event[key] : Json();
    line["returned"] = each.returned ? Json(time_text(*each.returned)) : Json();
    line["answered"] = each.answered ? Json(time_text(*each.answered)) : Json();
    line["answered_by"] = each.by.empty() ? Json() : Json(each.by);
    line["answer_minutes"] =
        each.answered ? Json(rounded(hours_of(*each.answered - each.raised) * 60, 10)) : Json();
    out["alarms"].push_back(line);
  }
}

}  // namespace

double rounded(double value, double places) { return std::round(value * places) / places; }
std::string time_text(Span at) { return to_rfc3339(Wall(at)); }

void add_heat(const ReportSource& source, Json& out) {
  const auto air = samples_of(source.temperature);
  std::vector<Wanted> wanted;
  for (const StageSpan& each : source.stages) wanted.push_back({each.from, each.target});
  const auto off = deviations(air, wanted, airings(source.record));
  add_summary(source, air, out);
  add_deviations(off, out);
  add_humidity(source, out);
  add_alarms(source, out);
  const double slowed = add_cold(source, air, out);
  add_shift(source, off, slowed, out);
  out["temperature"] = by_hour(source.temperature);
  out["humidity"] = by_hour(source.humidity);
}

}  // namespace clutchward
