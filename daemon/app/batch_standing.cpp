// From the engine's record and profile to what calendar and lists show.
#include "app/batch_standing.h"

#include <algorithm>

namespace clutchward {
namespace {

// Begun when the record says so, else by its day.
std::vector<StageWants> stages_of(const Profile& profile, const BatchRecord& record) {
  std::vector<StageWants> stages;
  const auto days = std::chrono::duration<double, std::ratio<86400>>(profile.days);
  const Wall end = record.ended_at.value_or(record.set_at + std::chrono::duration_cast<Span>(days));
  for (const Stage& stage : profile.stages) {
    StageWants wants{stage.name,   record.set_at + stage.from, end,
                     stage.target, stage.target_still,         stage.humidity};
    for (const StageBegun& begun : record.stages)
      if (begun.name == stage.name && begun.at > record.set_at) wants.from = begun.at;
    if (!stages.empty()) stages.back().to = wants.from;
    wants.to = std::max(end, wants.from);
    stages.push_back(std::move(wants));
  }
  return stages;
}

}  // namespace

std::optional<BatchStanding> batch_standing(const Engine& engine, const std::string& id) {
  auto record = engine.record(id);
  if (!record) return std::nullopt;
  BatchStanding batch;
  batch.record = std::move(*record);
  batch.cabinet_name = batch.record.cabinet;
  if (const auto cabinet = engine.view(batch.record.cabinet)) batch.cabinet_name = cabinet->name;
  const Wall now = engine.present().wall;
  const Wall until = batch.record.ended_at.value_or(now);
  batch.day = std::chrono::duration<double, std::ratio<86400>>(until - batch.record.set_at).count();
  batch.phase = batch.record.ended_at ? Phase::ended
                : batch.record.set    ? Phase::set
                                      : Phase::planned;
  if (const auto profile = engine.profile_of(id)) {
    batch.phase = phase_of(*profile, batch.record, now);
    batch.dates = dates_of(*profile, batch.record);
    batch.mass_loss = profile->mass_loss;
    batch.stages = stages_of(*profile, batch.record);
  }
  return batch;
}

}  // namespace clutchward
