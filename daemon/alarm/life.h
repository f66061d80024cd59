// The life of one alarm: its condition, its delays, and what people have said of it. The table in
// life.cpp is alarm-semantics.md section 5, row by row. Knows nothing of probes, batches or time of
// day; every input brings its own instant.
#pragma once

#include <memory>
#include <optional>
#include <string>

#include "alarm/event.h"
#include "base/result.h"
#include "base/time.h"
#include "rules/rule.h"

namespace clutchward {

inline constexpr Steady kNever{Span{INT64_MAX}};

struct OutOfService {
  std::string by;
  std::string why;
  Steady until = kNever;
  bool operator==(const OutOfService&) const = default;
};

// What differs from normal. An alarm that is normal in every way has no Life at all.
struct Life {
  bool condition = false;  // as the comparator left it
  bool active = false;
  bool acknowledged = false;
  bool latched = false;
  bool open = false;            // raised, and a person or the return has not brought it to normal
  bool awaiting_value = false;  // the off-delay ended without a fresh value

  Steady condition_from = kNever;  // from when the on-delay counts (moved on by a hold)
  Steady true_since = kNever;      // when the condition really turned true
  Steady due = kNever;             // end of the on-delay
  std::optional<Span> held;        // what had passed of the on-delay when suppression began
  Steady returns = kNever;         // end of the off-delay
  Steady snoozed_until = kNever;
  Steady holds_until = kNever;     // end of the acknowledgement's hold
  Steady condition_ends = kNever;  // still: no further turn until then
  Steady raised_at = kNever;
  Steady returned_at = kNever;
  Steady acknowledged_at = kNever;
  std::int64_t episode = 0;  // wall milliseconds of the raise: never the same twice

  std::optional<Milli> reference;      // for `worsened`
  std::optional<Milli> worst;          // since the condition turned true
  std::optional<Milli> pending_worst;  // the same while the on-delay runs
  std::string acknowledged_by;
  std::string snoozed_by;
  std::unique_ptr<OutOfService> out_of_service;

  bool normal() const { return !condition && !active && !open && !snoozed() && !out_of_service; }
  bool snoozed() const { return snoozed_until != kNever; }
};

// The shown state, first that fits.
AlarmState shown_state(const Life* life, bool suppressed);

// What happens to an alarm. The first four come from the clock and the probes, the others from
// people.
enum class LifeInput : std::uint8_t {
  on_delay_ends,
  off_delay_ends,
  worse,
  acknowledgement_ends,
  snooze_ends,
  acknowledge,
  snooze,
  unsnooze,
  pass_on,
  reset,
  out_of_service,
  in_service
};

struct LifeContext {
  const Rule& rule;
  Moment now;
  std::optional<Milli> value{};  // what the rule sees now
  std::string by{};
  Span length{0};         // snooze
  std::string why{};      // out_of_service
  Steady until = kNever;  // out_of_service
  // "39.8 °C is above 39.5 °C": why the condition holds, for refusals.
  std::string evidence{};
};

// Applies one input by the table: the event, or the sentence that says why it does not fit (the
// life is then as it was).
Result<EventKind> apply(LifeInput input, Life& life, const LifeContext& context);

// The alarm of a rule that a stage, a configuration or a batch's end took out: its condition is
// false from now; `returned` where it was active.
std::optional<EventKind> take_out(Life& life, const LifeContext& context);

// Condition and delays (section 4). Each returns the event where one comes of it.
std::optional<EventKind> condition_true(Life& life, const LifeContext& context);
std::optional<EventKind> condition_false(Life& life, const LifeContext& context);

// Suppression begins or ends (section 6): holds the running on-delay, lets it go on.
void hold(Life& life, Steady now);
std::optional<EventKind> go_on(Life& life, const LifeContext& context);

// The rule changed while its condition is true: due at the time it turned true plus the new delay,
// at once where that has passed.
std::optional<EventKind> delay_changed(Life& life, const LifeContext& context);

// Follows the worst value while the condition is true or the alarm active.
void follow_worst(Life& life, bool downwards, Milli value);
inline void follow_worst(Life& life, const Rule& rule, Milli value) {
  follow_worst(life, downwards(rule), value);
}

// Whether `value` is at least `worse_by` beyond the reference.
bool is_worse(const Life& life, const Rule& rule, Milli value);

}  // namespace clutchward
