// Curves to figures.
#include "incubation/excursions.h"

#include <algorithm>
#include <cmath>

namespace clutchward {
namespace {

bool beyond(const TemperatureSample& sample, Beyond side, double level) {
  return side == Beyond::above ? sample.celsius > level : sample.celsius < -level;
}

// The samples of one excursion, one more on both sides, so that the crossings count.
Result<HeatDose> dose_of(const std::vector<TemperatureSample>& all, std::size_t first,
                         std::size_t last, Beyond side, double level) {
  const std::size_t begin = first > 0 ? first - 1 : first;
  const std::size_t end = std::min(last + 2, all.size());
  const std::vector<TemperatureSample> part(all.begin() + static_cast<std::ptrdiff_t>(begin),
                                            all.begin() + static_cast<std::ptrdiff_t>(end));
  return heat_dose(part, side, side == Beyond::above ? level : -level);
}

double widest_step(double extreme, Beyond side) {
  double step = 0;
  if (side == Beyond::above) {
    for (const double each : kStepsAbove)
      if (extreme > each) step = each;
  } else {
    for (const double each : kStepsBelow)
      if (extreme < -each) step = each;
  }
  return step;
}

struct Place {
  std::size_t first = 0;
  std::size_t last = 0;
};

std::vector<Place> places_beyond(const std::vector<TemperatureSample>& all, Beyond side,
                                 double level, Span apart) {
  std::vector<Place> places;
  for (std::size_t i = 0; i < all.size(); ++i) {
    if (!beyond(all[i], side, level)) continue;
    if (!places.empty() &&
        (places.back().last + 1 == i || all[i].at - all[places.back().last].at < apart))
      places.back().last = i;
    else
      places.push_back({i, i});
  }
  return places;
}

Result<bool> add_side(const std::vector<TemperatureSample>& all, Beyond side, double level,
                      Span apart, std::vector<Excursion>& into) {
  for (const Place& place : places_beyond(all, side, level, apart)) {
    Excursion each;
    each.side = side;
    each.from = all[place.first].at;
    each.to = all[place.last].at;
    each.extreme = all[place.first].celsius;
    for (std::size_t i = place.first; i <= place.last; ++i)
      each.extreme = side == Beyond::above ? std::max(each.extreme, all[i].celsius)
                                           : std::min(each.extreme, all[i].celsius);
    each.step = widest_step(each.extreme, side);
    const auto dose = dose_of(all, place.first, place.last, side, level);
    if (!dose) return Refusal{dose.why()};
    each.dose = *dose;
    into.push_back(each);
  }
  return true;
}

}  // namespace

std::vector<TemperatureSample> deviations(const std::vector<TemperatureSample>& samples,
                                          const std::vector<Wanted>& wanted,
                                          const std::vector<Stretch>& pardoned) {
  std::vector<TemperatureSample> out;
  std::size_t next = 0;
  for (const TemperatureSample& sample : samples) {
    while (next < wanted.size() && wanted[next].from <= sample.at) ++next;
    if (next == 0) continue;
    const double off = sample.celsius - wanted[next - 1].value;
    const bool meant = off < 0 && std::any_of(pardoned.begin(), pardoned.end(), [&](auto& each) {
                         return each.from <= sample.at && sample.at < each.to;
                       });
    if (!meant) out.push_back({sample.at, off});
  }
  return out;
}

Result<std::vector<StepHours>> step_hours(const std::vector<TemperatureSample>& deviations) {
  std::vector<StepHours> out;
  const auto add = [&](Beyond side, double step, double level) -> std::optional<Refusal> {
    const auto dose = heat_dose(deviations, side, level);
    if (!dose) return Refusal{dose.why()};
    out.push_back({side, step, *dose});
    return std::nullopt;
  };
  for (const double step : kStepsAbove)
    if (auto bad = add(Beyond::above, step, step)) return *bad;
  for (const double step : kStepsBelow)
    if (auto bad = add(Beyond::below, step, -step)) return *bad;
  return out;
}

Result<std::vector<Excursion>> excursions(const std::vector<TemperatureSample>& deviations,
                                          Span apart) {
  std::vector<Excursion> out;
  const auto above = add_side(deviations, Beyond::above, kStepsAbove[0], apart, out);
  if (!above) return Refusal{above.why()};
  const auto below = add_side(deviations, Beyond::below, kStepsBelow[0], apart, out);
  if (!below) return Refusal{below.why()};
  std::stable_sort(out.begin(), out.end(),
                   [](const auto& a, const auto& b) { return a.from < b.from; });
  return out;
}

std::vector<ColdStretch> cold_stretches(const std::vector<TemperatureSample>& samples,
                                        double level_c, Span at_least) {
  std::vector<ColdStretch> out;
  for (std::size_t i = 0; i < samples.size(); ++i) {
    if (samples[i].celsius >= level_c) continue;
    const std::size_t first = i;
    while (i + 1 < samples.size() && samples[i + 1].celsius < level_c) ++i;
    if (first == 0 || samples[i].at - samples[first].at < at_least) continue;
    out.push_back({first - 1, std::min(i + 1, samples.size() - 1)});
  }
  return out;
}

std::vector<Answered> answers(const std::vector<AlarmTold>& told) {
  std::vector<Answered> out;
  const auto open = [&](const std::string& alarm) {
    return std::find_if(out.rbegin(), out.rend(),
                        [&](const Answered& each) { return each.alarm == alarm; });
  };
  for (const AlarmTold& each : told) {
    const auto found = open(each.alarm);
    if (each.event == "raised") {
      if (found != out.rend() && !found->answered && !found->returned) continue;
      out.push_back({each.alarm, each.at, std::nullopt, std::nullopt, {}});
      continue;
    }
    if (found == out.rend()) continue;
    if (each.event == "returned") found->returned = each.at;
    if (each.event == "raised_again") found->returned.reset();
    const bool answer =
        each.event == "acknowledged" || each.event == "snoozed" || each.event == "reset";
    if (answer && !found->answered) {
      found->answered = each.at;
      found->by = each.by;
    }
  }
  return out;
}

}  // namespace clutchward
