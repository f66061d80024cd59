// The record of a batch: its paper, made when something is first done with it, and what the watch
// itself knows laid over it. A batch that was never touched costs nothing here.
#include <algorithm>

#include "engine/world.h"

namespace clutchward {
namespace {

// Stages begun by the clock need no paper; one begun by a move stands there with its hour.
std::vector<StageBegun> stages_of(const BatchWatch& batch, const std::vector<StageBegun>& moved) {
  std::vector<StageBegun> begun;
  if (!batch.set) return begun;
  for (std::uint32_t i = 0; i <= batch.stage; ++i) {
    const Stage& stage = batch.profile->stages[i];
    const auto by_move = std::find_if(moved.begin(), moved.end(), [&](const StageBegun& each) {
      return each.name == stage.name;
    });
    begun.push_back(by_move != moved.end() ? *by_move
                                           : StageBegun{batch.set_at + stage.from, stage.name});
  }
  return begun;
}

}  // namespace

BatchRecord& paper_of(World& world, BatchWatch& batch) {
  if (!batch.paper) batch.paper = std::make_unique<BatchRecord>();
  world.dirty_papers.insert(batch.id);
  record_changed(world, batch.id);
  return *batch.paper;
}

void record_changed(World& world, const std::string& id) { world.changed_records.insert(id); }

BatchRecord record_of(const World&, const CabinetWatch& cabinet, const BatchWatch& batch) {
  BatchRecord record = batch.paper ? *batch.paper : BatchRecord{};
  record.id = batch.id;
  record.profile = batch.profile->id;
  record.name = batch.profile->name;
  record.cabinet = cabinet.id;
  record.set_at = batch.set_at;
  record.days = batch.profile->days;
  record.eggs = batch.eggs;
  record.set = batch.set;
  record.stages = stages_of(batch, record.stages);
  if (batch.today) record.turning.push_back(*batch.today);
  return record;
}

std::optional<BatchRecord> record_of(const World& world, const std::string& id) {
  if (const auto done = world.finished.find(id); done != world.finished.end()) return *done->second;
  CabinetWatch* const home = home_of(world, id);
  if (home == nullptr) return std::nullopt;
  return record_of(world, *home, *find_batch(*home, id));
}

int eggs_left(const BatchWatch& batch) {
  if (!batch.paper) return batch.eggs;
  BatchRecord counted;
  counted.eggs = batch.eggs;
  counted.candlings = batch.paper->candlings;
  counted.outcome = batch.paper->outcome;
  return std::max(0, counted.eggs_left());
}

}  // namespace clutchward
