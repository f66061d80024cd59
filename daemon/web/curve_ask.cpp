// Questions to the history.
#include "web/curve_ask.h"

#include <algorithm>

#include "web/site.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

constexpr Span kDay = 24h;
constexpr Span kDayStep = 5min;
constexpr std::int64_t kLifeSteps = 360;  // a phone has no more pixels across

std::vector<std::string> not_in_the_air(const CabinetView& cabinet) {
  std::vector<std::string> probes;
  for (const ProbeView& probe : cabinet.probes)
    if (probe.part != Part::air) probes.push_back(probe.probe);
  return probes;
}

CurveStay stay_in(const Site& site, const std::string& id, Wall from, Wall to) {
  const auto cabinet = site.door.cabinet(id);
  return {id, from, to, cabinet ? not_in_the_air(*cabinet) : std::vector<std::string>()};
}

std::vector<CurveStay> stays_of(const Site& site, const BatchRecord& record, Wall until) {
  std::vector<CurveStay> stays;
  Wall from = record.set_at;
  for (const Relocation& move : record.moves) {
    const Wall at = std::clamp(move.at, from, until);
    if (at > from && !move.from.empty()) stays.push_back(stay_in(site, move.from, from, at));
    from = at;
  }
  stays.push_back(stay_in(site, record.cabinet, from, until));
  return stays;
}

// The next of a row of round steps.
Span round_step(Span least) {
  for (const Span step : {5min, 10min, 15min, 30min, 60min, 120min, 180min, 360min, 720min})
    if (step >= least) return step;
  return kDay;
}

}  // namespace

namespace {

// The history is a minute or two behind: the curve ends with what is seen now.
void end_with_now(const Site& site, CurveView& view) {
  const Wall now = site.door.now().wall;
  const auto cabinet = site.door.cabinet(view.wanted.stays.back().cabinet);
  if (!cabinet || cabinet->no_data || !cabinet->coldest || !cabinet->hottest ||
      now - view.wanted.to() > 2min)
    return;
  const Span into = (now - view.wanted.from()) % view.wanted.step;
  const CurveStep last{now - into, *cabinet->coldest,
                       static_cast<Milli>((*cabinet->coldest + *cabinet->hottest) / 2),
                       *cabinet->hottest};
  if (!view.curve->temperature.empty() && view.curve->temperature.back().at >= last.at) return;
  auto found = std::make_shared<CurveFound>(*view.curve);
  found->temperature.push_back(last);
  view.curve = std::move(found);
}

}  // namespace

CurveView day_of(const CabinetView& cabinet, Wall now) {
  CurveView view;
  const Wall from = std::chrono::floor<std::chrono::minutes>(now - kDay);
  const Span into = from.time_since_epoch() % kDayStep;
  view.wanted.stays = {{cabinet.id, from - into, now, not_in_the_air(cabinet)}};
  view.wanted.step = kDayStep;
  return view;
}

std::optional<CurveView> life_of(const Site& site, const BatchStanding& batch, Wall now) {
  if (!batch.record.set) return std::nullopt;
  CurveView view;
  const Wall until = std::max(batch.record.ended_at.value_or(now), batch.record.set_at + 1h);
  view.wanted.stays = stays_of(site, batch.record, until);
  view.wanted.step = round_step((until - batch.record.set_at) / kLifeSteps);
  view.wanted.batch = batch.record.id;
  view.day_zero = batch.record.set_at;
  return view;
}

void put_bands(const Site& site, CurveView& view) {
  const auto cabinet = site.door.cabinet(view.wanted.stays.back().cabinet);
  if (!cabinet || !site.door.batch) return;
  std::vector<BatchStanding> batches;
  const auto add = [&](const std::string& id) {
    if (auto batch = site.door.batch(id)) batches.push_back(std::move(*batch));
  };
  if (!view.wanted.batch.empty()) add(view.wanted.batch);
  if (view.wanted.batch.empty())
    for (const BatchView& batch : cabinet->batches) add(batch.id);
  put_bands(view, *cabinet, batches);
}

void fetch_curve(Site& site, const std::string& key, CurveView view,
                 const std::function<void(CurveView)>& done) {
  CurveWanted wanted = view.wanted;
  site.curves.ask(site.door.curve, key, std::move(wanted), site.door.now().steady,
                  [&site, view = std::move(view), done](const Curve& curve) mutable {
                    view.curve = curve;
                    if (curve) view.alarms = alarms_of(curve->events);
                    if (curve) end_with_now(site, view);
                    put_bands(site, view);
                    done(std::move(view));
                  });
}

}  // namespace clutchward
