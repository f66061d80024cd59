// Bands and alarms beside a curve.
#include "web/curve_view.h"

#include <algorithm>

namespace clutchward {
namespace {

// The room around a target where no rule of the batch says it: the built-in ladder's first steps
// (rules/built_in.cpp).
constexpr Milli kAbove = 800;
constexpr Milli kBelow = 1'400;

struct Room {
  Milli above = kAbove;
  Milli below = kBelow;
};

// The narrowest limits that count from the target now.
Room room_of(const CabinetView& cabinet, const std::string& batch) {
  std::optional<Milli> above;
  std::optional<Milli> below;
  for (const AlarmView& alarm : cabinet.alarms) {
    if (alarm.key.batch != batch || alarm.quantity != Quantity::temperature || !alarm.limit ||
        !alarm.target)
      continue;
    const Milli away = *alarm.limit - *alarm.target;
    if (alarm.kind == RuleKind::above && away > 0) above = std::min(above.value_or(away), away);
    if (alarm.kind == RuleKind::below && away < 0) below = std::min(below.value_or(-away), -away);
  }
  return {above.value_or(kAbove), below.value_or(kBelow)};
}

// Whether the batch's targets are those for still air: its present one is.
bool in_still_air(const CabinetView& cabinet, const BatchStanding& batch) {
  for (const BatchView& view : cabinet.batches)
    for (const StageWants& stage : batch.stages)
      if (view.id == batch.record.id && view.stage == stage.name && stage.target_still)
        return view.target == *stage.target_still && view.target != stage.target;
  return false;
}

}  // namespace

void put_bands(CurveView& view, const CabinetView& cabinet,
               const std::vector<BatchStanding>& batches) {
  for (const BatchStanding& batch : batches) {
    if (!batch.record.set) continue;
    const Room room = room_of(cabinet, batch.record.id);
    const bool still = in_still_air(cabinet, batch);
    for (std::size_t i = 0; i < batch.stages.size(); ++i) {
      const StageWants& stage = batch.stages[i];
      const Wall from = std::max(stage.from, view.wanted.from());
      // The last stage goes on until the eggs are out.
      const bool open = i + 1 == batch.stages.size() && !batch.record.ended_at;
      const Wall to = open ? view.wanted.to() : std::min(stage.to, view.wanted.to());
      if (from >= to) continue;
      const Milli target = still ? stage.target_still.value_or(stage.target) : stage.target;
      view.temperature.push_back(
          {from, to, target - room.below, target + room.above, target, stage.name});
      if (stage.humidity)
        view.humidity.push_back(
            {from, to, stage.humidity->from, stage.humidity->to, std::nullopt, stage.name});
    }
  }
}

std::vector<CurveAlarm> alarms_of(const std::vector<CurveEvent>& events) {
  std::vector<CurveAlarm> alarms;
  for (const CurveEvent& each : events) {
    const AlarmEvent& event = each.event;
    const auto open = std::find_if(alarms.rbegin(), alarms.rend(), [&](const CurveAlarm& alarm) {
      return !alarm.to && alarm.batch == event.key.batch && alarm.alarm == event.key.alarm;
    });
    if (open == alarms.rend()) {
      if (event.kind == EventKind::raised)
        alarms.push_back({event.key.batch, event.key.alarm, each.kind, each.quantity, each.priority,
                          event.at, std::nullopt, event.worst});
      continue;
    }
    if (event.worst) open->worst = event.worst;
    if (event.kind == EventKind::returned || event.kind == EventKind::out_of_service)
      open->to = event.at;
  }
  return alarms;
}

}  // namespace clutchward
