// Rules that look at the past: what they take in with each reading, what they make of it, and when
// the limit would be reached at this pace.
#include "engine/early.h"

#include <algorithm>
#include <cmath>

#include "engine/world.h"
#include "incubation/egg_heat.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

// The line behind a trend's likely hour: an hour, so that a thermostat's own swing is none.
constexpr Span kTrendWindow = 60min;
// After a new target a cabinet takes its time; its chart is not asked meanwhile.
constexpr Span kNewTarget = 3h;
constexpr std::size_t kLeastPoints = 3;
// How many standard errors a slope must be away from none (two: about 95 %).
constexpr double kSure = 2;
// Beneath the shell of a young egg the embryo warms about five times as fast as the whole egg does;
// young: the first third of the incubation (both from the notes in incubation/egg_heat.h and the
// trade).
constexpr double kYoungLagMin = 10;
constexpr double kYoungShare = 1.0 / 3;

Span window_of(const Rule& rule) {
  return rule.kind == RuleKind::rate ? rule.early.window : kTrendWindow;
}

double seen_by(const CabinetWatch& cabinet, const Rule& rule) {
  const Combined& fresh = cabinet.temperature.fresh;
  if (rule.kind == RuleKind::trend) return (fresh.above + fresh.below) / 2.0;
  return downwards(rule) ? fresh.below : fresh.above;
}

std::string owner(const BatchWatch* batch) { return batch != nullptr ? batch->id : std::string(); }

const Track* track_of(const CabinetWatch& cabinet, const BatchWatch* batch, const Rule& rule) {
  return cabinet.early ? cabinet.early->track(owner(batch), rule.id) : nullptr;
}

void take_in(World& world, const CabinetWatch& cabinet, const BatchWatch* batch, const Slot& slot,
             Track& track) {
  const Rule& rule = *slot.rule;
  const Steady now = world.present.steady;
  const double value = seen_by(cabinet, rule);
  if (rule.quantity == Quantity::egg) {
    track.egg.take(now, value / 1000, egg_lag_min(world, batch, rule));
    return;
  }
  track.window.take(now, value, window_of(rule));
  if (rule.kind != RuleKind::trend) return;
  if (batch != nullptr) track.trend.aim(batch->present().target, now, kNewTarget);
  track.trend.take(now, value, !slot.suppressed, rule.early);
}

std::optional<bool> judge_rate(const World& world, const BatchWatch* batch, const Rule& rule,
                               const Track& track, bool holds) {
  const Steady now = world.present.steady;
  const auto limit = harm_limit(rule, batch, rule.early.towards);
  if (!limit || !track.window.covers(now, rule.early.window)) return std::nullopt;
  const auto line = track.window.line(now, rule.early.window);
  if (!line || line->points < kLeastPoints) return std::nullopt;
  const double sign = downwards(rule) ? -1 : 1;
  // With at_least: below its target a machine heats up because it should, as after every open door.
  if (batch != nullptr &&
      sign * (line->at(0) - batch->present().target) < static_cast<double>(rule.early.at_least))
    return false;
  // Sure of a slope before it is told; once told, it is over when the line no longer gets there.
  const double doubt = holds ? 0 : kSure * line->honest_error();
  if (sign * line->slope - doubt <= 0) return false;
  const double minutes = std::chrono::duration<double, std::ratio<60>>(rule.early.ahead).count();
  return sign * std::llround(line->at(minutes)) >= sign * *limit;
}

}  // namespace

Track* Early::track(const std::string& batch, const std::string& rule) {
  for (Track& each : tracks)
    if (each.batch == batch && each.rule == rule) return &each;
  return nullptr;
}
const Track* Early::track(const std::string& batch, const std::string& rule) const {
  return const_cast<Early*>(this)->track(batch, rule);
}

SignalState* Early::signal(const std::string& name) {
  for (SignalState& each : signals)
    if (each.name == name) return &each;
  return nullptr;
}

Early& early_of(CabinetWatch& cabinet) {
  if (!cabinet.early) cabinet.early = std::make_unique<Early>();
  cabinet.has_early = true;
  return *cabinet.early;
}

void renew_tracks(CabinetWatch& cabinet) {
  bool probes = false;
  bool any = false;
  visit(cabinet, [&](BatchWatch* batch, Slot& slot) {
    if (slot.former) return;
    probes = probes || slot.rule->kind == RuleKind::probe;
    any = any || slot.rule->early.confirm > 1;
    if (!has_past(*slot.rule)) return;
    Early& early = early_of(cabinet);
    if (early.track(owner(batch), slot.rule->id) == nullptr)
      early.tracks.push_back({owner(batch), slot.rule->id, {}, {}, {}});
  });
  if (probes || any) early_of(cabinet).watches_probes = probes;
  if (!cabinet.early) return;
  if (!probes) leave_none_out(cabinet);
  std::erase_if(cabinet.early->tracks, [&](const Track& track) {
    bool wanted = false;
    visit(cabinet, [&](BatchWatch* batch, Slot& slot) {
      wanted = wanted || (!slot.former && has_past(*slot.rule) && owner(batch) == track.batch &&
                          slot.rule->id == track.rule);
    });
    return !wanted;
  });
}

bool take_in_early(World& world, CabinetWatch& cabinet) {
  Early& early = *cabinet.early;
  bool stirred = false;
  if (early.tracks.empty()) return false;
  visit(cabinet, [&](BatchWatch* batch, Slot& slot) {
    if (slot.former || !has_past(*slot.rule)) return;
    Track* track = early.track(owner(batch), slot.rule->id);
    if (track == nullptr) return;
    take_in(world, cabinet, batch, slot, *track);
    const auto condition = judge_past(world, cabinet, batch, slot);
    stirred = stirred || (condition && *condition != (slot.life && slot.life->condition));
  });
  return stirred;
}

std::optional<bool> judge_past(const World& world, const CabinetWatch& cabinet,
                               const BatchWatch* batch, const Slot& slot) {
  const Rule& rule = *slot.rule;
  const Track* track = track_of(cabinet, batch, rule);
  if (track == nullptr || !cabinet.temperature.current(world.present.steady, world.silence()))
    return std::nullopt;
  const bool holds = slot.life && slot.life->condition;
  if (rule.kind == RuleKind::rate) return judge_rate(world, batch, rule, *track, holds);
  if (rule.kind == RuleKind::trend)
    return track->trend.ewma.steps > 0 ? std::optional(track->trend.outside) : std::nullopt;
  const auto value = past_value(world, cabinet, batch, rule);
  const auto limit = limit_of(rule, batch);
  if (!value || !limit) return std::nullopt;
  return beyond(rule, holds, *limit, *value, *value);
}

double egg_lag_min(const World& world, const BatchWatch* batch, const Rule& rule) {
  if (rule.early.lag) return std::chrono::duration<double, std::ratio<60>>(*rule.early.lag).count();
  const bool young =
      batch != nullptr && batch->set && day_of(world, *batch) < batch->profile->days * kYoungShare;
  return rule.kind == RuleKind::above && young ? kYoungLagMin : kHenEggTimeConstantMin;
}

std::optional<Milli> past_value(const World& world, const CabinetWatch& cabinet,
                                const BatchWatch* batch, const Rule& rule) {
  const Track* track = track_of(cabinet, batch, rule);
  if (track == nullptr) return std::nullopt;
  if (rule.quantity == Quantity::egg) {
    if (!track->egg.settled(world.present.steady, egg_lag_min(world, batch, rule)))
      return std::nullopt;
    return static_cast<Milli>(std::llround(track->egg.celsius * 1000));
  }
  if (rule.kind == RuleKind::trend) {
    if (!track->trend.learned) return std::nullopt;
    return static_cast<Milli>(std::llround(track->trend.centre + track->trend.ewma.value));
  }
  if (!cabinet.temperature.known) return std::nullopt;
  return static_cast<Milli>(std::llround(seen_by(cabinet, rule)));
}

bool drifts_down(const CabinetWatch& cabinet, const BatchWatch* batch, const Rule& rule) {
  if (rule.kind != RuleKind::trend) return downwards(rule);
  const Track* track = track_of(cabinet, batch, rule);
  return track != nullptr && track->trend.ewma.value < 0;
}

std::optional<Milli> past_limit(const CabinetWatch& cabinet, const BatchWatch* batch,
                                const Rule& rule) {
  if (rule.kind == RuleKind::rate) return harm_limit(rule, batch, rule.early.towards);
  const Track* track = track_of(cabinet, batch, rule);
  if (rule.kind != RuleKind::trend || track == nullptr || !track->trend.learned)
    return std::nullopt;
  const Trending& trend = track->trend;
  const double half = trend.half_width(rule.early);
  return static_cast<Milli>(std::llround(trend.centre + (trend.ewma.value < 0 ? -half : half)));
}

std::optional<Milli> harm_limit(const Rule& rule, const BatchWatch* batch, Towards side) {
  if (rule.kind == RuleKind::rate && rule.limit) return rule.limit;
  if (batch == nullptr) return std::nullopt;
  const Milli target = batch->present().target;
  if (rule.kind == RuleKind::rate && rule.offset)
    return side == Towards::low ? target - *rule.offset : target + *rule.offset;
  const RuleKind kind = side == Towards::low ? RuleKind::below : RuleKind::above;
  std::optional<Milli> first;
  for (const Slot& slot : batch->slots) {
    if (slot.former || slot.rule->kind != kind || slot.rule->quantity != Quantity::temperature)
      continue;
    const auto limit = limit_of(*slot.rule, batch);
    if (!limit) continue;
    if (slot.rule->id == (side == Towards::low ? "low" : "high")) return limit;
    if (slot.rule->priority != Priority::high) continue;
    if (!first || (side == Towards::low ? *limit > *first : *limit < *first)) first = limit;
  }
  return first;
}

std::optional<Outlook> outlook(const World& world, const CabinetWatch& cabinet,
                               const BatchWatch* batch, const Rule& rule) {
  const Track* track = track_of(cabinet, batch, rule);
  if (track == nullptr || (rule.kind != RuleKind::rate && rule.kind != RuleKind::trend))
    return std::nullopt;
  const Steady now = world.present.steady;
  const auto line = track->window.line(now, window_of(rule));
  if (!line || line->points < kLeastPoints || line->slope == 0) return std::nullopt;
  const bool down = rule.kind == RuleKind::rate ? downwards(rule) : line->slope < 0;
  const auto limit = harm_limit(rule, batch, down ? Towards::low : Towards::high);
  if (!limit) return std::nullopt;
  const auto when = [&](double slope) -> std::optional<Steady> {
    Line other = *line;
    other.mean_y = line->at(0);  // turned around where it stands now
    other.mean_x = 0;
    other.slope = slope;
    const auto minutes = other.reaches(*limit, 0);
    constexpr double kFurthest = 48 * 60;  // further on, a pace says nothing
    if (!minutes || *minutes > kFurthest) return std::nullopt;
    return now + Span{std::llround(*minutes * 60'000)};
  };
  const auto at = when(line->slope);
  if (!at) return std::nullopt;
  const double sure = kSure * line->honest_error() * (line->slope < 0 ? -1 : 1);
  return Outlook{*limit, *at, when(line->slope + sure), when(line->slope - sure)};
}

}  // namespace clutchward
