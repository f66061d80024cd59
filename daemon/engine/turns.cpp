// The turns of each local day, counted into the records of the batches that are being turned.
#include "engine/world.h"

namespace clutchward {
namespace {

std::int64_t local_date(const World& world) {
  const auto local = world.zone.to_local(world.present.wall);
  return std::chrono::floor<std::chrono::days>(local).time_since_epoch().count();
}

bool is_turned(const BatchWatch& batch) {
  const Stage& stage = batch.present();
  return batch.set && !batch.ended &&
         (stage.turn_every || stage.turn_any || !stage.turn_at.empty());
}

}  // namespace

void count_turn(World& world, CabinetWatch& cabinet, bool by_machine) {
  if (!world.present.wall_trusted) return;  // no day to count it for
  const std::int64_t date = local_date(world);
  for (auto& batch : cabinet.batches) {
    if (!is_turned(*batch)) continue;
    auto& days = paper_of(world, *batch).turning;
    if (days.empty() || days.back().date != date) {
      days.emplace_back();
      days.back().date = date;
    }
    ++(by_machine ? days.back().by_machine : days.back().by_hand);
  }
}

}  // namespace clutchward
