// The built-in rules: the lowest layer. The levels of the ladder come from extension publications
// (101, 102, 103 and 105 F for heat, 97 F and below for cold) and the trade; delays are proposals.
#include "rules/rule.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

RulePatch rung(RuleKind kind, Milli offset, Span delay, Priority priority, bool latch) {
  RulePatch patch;
  patch.kind = kind;
  patch.offset = offset;
  patch.delay = delay;
  patch.priority = priority;
  patch.latch = latch;
  return patch;
}

RulePatch silence(Span after, Priority priority, bool latch) {
  RulePatch patch;
  patch.kind = RuleKind::silent;
  patch.after = after;
  patch.priority = priority;
  patch.latch = latch;
  return patch;
}

// Outside the stage's humidity band for long: opening a lid or filling a pan takes minutes, an
// egg's loss of water counts in days (common practice, no published source). Never more urgent than
// heat.
RulePatch beside_band(RuleKind kind) {
  RulePatch patch = rung(kind, 5'000, 30min, Priority::low, false);
  patch.quantity = Quantity::humidity;
  patch.deadband = 2'000;
  patch.average = SpanOrOff{30min};
  return patch;
}

RulePatches make() {
  RulePatches rules;
  RulePatch& overheat = rules["overheat"];
  overheat.kind = RuleKind::above;
  overheat.machine = true;
  overheat.limit = 41'000;
  overheat.delay = 0ms;
  overheat.priority = Priority::high;
  overheat.latch = true;

  rules["high"] = rung(RuleKind::above, 2'000, 0ms, Priority::high, true);
  rules["hot"] = rung(RuleKind::above, 1'400, 10min, Priority::high, true);
  rules["warm"] = rung(RuleKind::above, 800, 60min, Priority::medium, false);
  rules["cool"] = rung(RuleKind::below, 1'400, 2h, Priority::medium, false);
  rules["cool"].warm_up = 8h;
  rules["cool_long"] = rung(RuleKind::below, 1'400, 6h, Priority::high, true);
  rules["cool_long"].warm_up = 8h;
  rules["low"] = rung(RuleKind::below, 3'000, 60min, Priority::high, true);
  rules["low"].warm_up = 3h;

  rules["damp_air"] = beside_band(RuleKind::above);
  rules["dry_air"] = beside_band(RuleKind::below);

  rules["silent"] = silence(5min, Priority::medium, false);
  rules["blind"] = silence(20min, Priority::high, true);

  RulePatch& turning = rules["turning"];
  turning.kind = RuleKind::turning;
  turning.missed = 3;
  turning.latch = true;

  RulePatch& cooling = rules["cooling"];
  cooling.kind = RuleKind::cooling;
  cooling.fall = 1'000;

  // A lid forgotten open: the low alarm still waits for the recovery then.
  RulePatch& lid = rules["airing_lid"];
  lid.kind = RuleKind::lid;
  lid.after = 15min;
  lid.rise = 1'000;

  RulePatch& spread = rules["spread"];
  spread.kind = RuleKind::spread;
  spread.limit = 1'500;
  spread.delay = 30min;
  spread.latch = false;

  RulePatch& power = rules["power"];
  power.kind = RuleKind::power;
  power.delay = 30s;
  power.high_after = 10min;

  RulePatch& broker = rules["broker"];
  broker.kind = RuleKind::broker;
  broker.after = 2min;
  broker.priority = Priority::high;
  broker.latch = false;
  return rules;
}

}  // namespace

const RulePatches& built_in_rules() {
  static const RulePatches rules = make();
  return rules;
}

}  // namespace clutchward
