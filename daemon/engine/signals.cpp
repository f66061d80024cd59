// On/off quantities: a door, a fan, water, and the button by which somebody says "I am here".
#include <algorithm>

#include "base/limits.h"
#include "engine/world.h"

namespace clutchward {
namespace {

constexpr Span kHere = std::chrono::minutes{30};  // as attending is where nobody says for how long

}  // namespace

void signal_reading(World& world, CabinetWatch& cabinet, const std::string& name, bool on) {
  Early& early = early_of(cabinet);
  SignalState* state = early.signal(name);
  const bool first = state == nullptr;
  if (first) {
    if (early.signals.size() >= limits::kSignalsPerCabinet) return;
    early.signals.push_back({name, on, world.present.steady});
    state = &early.signals.back();
  }
  const bool turned = first || state->on != on;
  if (turned) {
    state->on = on;
    state->since = world.present.steady;
  }
  if (name == "button" && on) {
    cabinet.make_seldom().attending =
        std::make_unique<Attending>(Attending{world.present.steady + kHere, "button"});
    renew_suppression(world, cabinet);
  }
  if (turned) {
    if (first) bind_machine_rules(world, cabinet);
    for (Slot& slot : cabinet.slots)
      if (slot.rule->kind == RuleKind::signal && slot.rule->early.signal == name)
        follow(world, cabinet, nullptr, slot);
    cabinet.quiet = false;
    touch(world, cabinet);
  }
  reschedule(world, cabinet);
}

std::optional<bool> judge_signal(const CabinetWatch& cabinet, const Rule& rule) {
  if (!cabinet.early) return std::nullopt;
  for (const SignalState& each : cabinet.early->signals)
    if (each.name == rule.early.signal) return each.on == rule.early.bad;
  return std::nullopt;
}

}  // namespace clutchward
