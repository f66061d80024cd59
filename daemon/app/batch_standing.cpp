// From the engine's record and profile to what calendar and lists show.
#include "app/batch_standing.h"

namespace clutchward {

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
  }
  return batch;
}

}  // namespace clutchward
