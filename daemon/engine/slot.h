// One rule watching one cabinet or batch, and how its alarm stands. Internal to this room.
#pragma once

#include <cstdint>
#include <memory>
#include <vector>

#include "alarm/life.h"
#include "base/long_lived.h"
#include "base/time.h"
#include "rules/rule.h"

namespace clutchward {

// Without a Life the alarm is normal.
struct Slot {
  const Rule* rule = nullptr;
  std::unique_ptr<Life> life;
  bool warming : 1 = false;      // the batch's warm-up holds
  bool broker_hold : 1 = false;  // the broker was lost, and the rule's time since it came back runs
  bool suppressed : 1 = false;   // as last judged: any reason of section 6
  bool former : 1 = false;       // its rule was taken out; the rest is a person's to reset
  bool limit_held : 1 = false;   // warming: no reading on the wrong side of the limit since
  std::int64_t limit_held_ms : 59 = 0;  // since when, on the clock that never jumps

  Steady limit_held_since() const { return Steady{Span{limit_held_ms}}; }
  void hold_limit_since(Steady since) {
    limit_held = true;
    limit_held_ms = since.time_since_epoch().count();
  }
};
static_assert(sizeof(Slot) == 24, "a cabinet has a dozen of these");
using Slots = std::vector<Slot, LongLived<Slot>>;  // sorted by rule id

}  // namespace clutchward
