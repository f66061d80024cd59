// The table of an alarm's life, and the delays before and after it. Refuses what is not in the
// table with a sentence and leaves the alarm as it was.
#include "alarm/life.h"

#include <array>

#include "base/check.h"

namespace clutchward {
namespace {

using Context = LifeContext;

void to_normal_if_done(Life& life) {
  if (life.active || life.latched || !life.acknowledged) return;
  life.open = false;
  life.acknowledged = false;
  life.acknowledged_by.clear();
}

bool is_out(const Life& life) { return life.out_of_service != nullptr; }
bool owes_acknowledgement(const Life& life) { return life.open && !life.acknowledged; }

void raise(Life& life, const Context& c) {
  life.active = true;
  life.open = true;
  life.acknowledged = false;
  life.acknowledged_by.clear();
  life.latched = life.latched || c.rule.latch;
  life.worst = life.pending_worst ? life.pending_worst : c.value;
  life.pending_worst.reset();
  if (!life.snoozed()) life.reference = c.value;
  life.due = life.holds_until = life.returns = life.returned_at = kNever;
  life.held.reset();
  life.awaiting_value = false;
  life.raised_at = c.now.steady;
  life.episode = c.now.wall.time_since_epoch().count();
}

void come_back(Life& life, const Context& c) {
  life.active = false;
  life.awaiting_value = false;
  life.returns = life.holds_until = kNever;
  life.returned_at = c.now.steady;
  to_normal_if_done(life);
}

void acknowledge(Life& life, const Context& c) {
  life.acknowledged = true;
  life.acknowledged_by = c.by;
  life.acknowledged_at = c.now.steady;
  if (life.active) life.reference = c.value;
  if (life.active && c.rule.acknowledge_holds && !life.snoozed())
    life.holds_until = c.now.steady + *c.rule.acknowledge_holds;
  to_normal_if_done(life);
}

void speak_again(Life& life, const Context& c) {
  life.acknowledged = false;
  life.acknowledged_by.clear();
  life.holds_until = kNever;
  life.reference = c.value;
}

void end_snooze(Life& life, const Context& c) {
  life.snoozed_until = kNever;
  life.snoozed_by.clear();
  if (life.active) speak_again(life, c);
}

void snooze(Life& life, const Context& c) {
  life.snoozed_until = c.now.steady + c.length;
  life.snoozed_by = c.by;
  life.holds_until = kNever;
  life.reference = c.value;
}

void worsen(Life& life, const Context& c) {
  life.snoozed_until = kNever;
  life.snoozed_by.clear();
  speak_again(life, c);
}

void reset(Life& life, const Context&) {
  life.open = life.latched = life.acknowledged = false;
  life.acknowledged_by.clear();
  life.snoozed_until = kNever;
  life.snoozed_by.clear();
}

void take_out_of_service(Life& life, const Context& c) {
  life.condition = false;
  life.due = life.true_since = life.condition_from = life.condition_ends = kNever;
  life.held.reset();
  if (life.active) come_back(life, c);
  life.out_of_service = std::make_unique<OutOfService>(OutOfService{c.by, c.why, c.until});
}

void put_in_service(Life& life, const Context&) { life.out_of_service.reset(); }

void nothing(Life&, const Context&) {}

// One row: who may come, what it does, which event it makes.
struct Row {
  LifeInput input;
  bool (*fits)(const Life&);
  void (*effect)(Life&, const Context&);
  EventKind (*event)(const Life& before);
};

template <EventKind kind>
EventKind always(const Life&) {
  return kind;
}
EventKind by_activity(const Life& before) {
  return before.active ? EventKind::raised_again : EventKind::snooze_ended;
}

// alarm-semantics.md section 5, in its order.
constexpr std::array<Row, 12> kTable{{
    {LifeInput::on_delay_ends, [](const Life& l) { return !l.active; }, raise,
     always<EventKind::raised>},
    {LifeInput::off_delay_ends, [](const Life& l) { return l.active; }, come_back,
     always<EventKind::returned>},
    {LifeInput::acknowledge, owes_acknowledgement, acknowledge, always<EventKind::acknowledged>},
    {LifeInput::acknowledgement_ends,
     [](const Life& l) { return l.active && l.acknowledged && !l.snoozed(); }, speak_again,
     always<EventKind::raised_again>},
    {LifeInput::snooze, [](const Life& l) { return l.active; }, snooze, always<EventKind::snoozed>},
    {LifeInput::snooze_ends, [](const Life& l) { return l.snoozed(); }, end_snooze, by_activity},
    {LifeInput::unsnooze, [](const Life& l) { return l.snoozed(); }, end_snooze, by_activity},
    {LifeInput::worse, [](const Life& l) { return l.active && l.condition; }, worsen,
     always<EventKind::worsened>},
    {LifeInput::pass_on, [](const Life& l) { return l.active && !l.acknowledged; }, nothing,
     always<EventKind::passed_on>},
    {LifeInput::reset, [](const Life& l) { return l.open && !l.active; }, reset,
     always<EventKind::reset>},
    {LifeInput::out_of_service, [](const Life&) { return true; }, take_out_of_service,
     always<EventKind::out_of_service>},
    {LifeInput::in_service, is_out, put_in_service, always<EventKind::in_service>},
}};

std::string refusal(LifeInput input, const Life& life, const Context& c) {
  const std::string reason = c.evidence.empty() ? std::string() : ": " + c.evidence;
  switch (input) {
    case LifeInput::acknowledge:
      if (life.open && life.acknowledged)
        return "already acknowledged" +
               (life.acknowledged_by.empty() ? "" : " by " + life.acknowledged_by);
      return "nothing to acknowledge: it is not raised";
    case LifeInput::snooze:
      return "not active: only an active alarm can be snoozed";
    case LifeInput::unsnooze:
      return "not snoozed";
    case LifeInput::pass_on:
      return life.active ? "already acknowledged" +
                               (life.acknowledged_by.empty() ? "" : " by " + life.acknowledged_by) +
                               ": nobody is waiting to be told"
                         : "not active: there is nothing to pass on";
    case LifeInput::reset:
      if (life.active) return "still active" + reason + "; reset it once it has returned";
      return "nothing to reset: no latch is set and nothing has returned";
    case LifeInput::in_service:
      return "not out of service";
    default:
      return "does not fit the alarm's state";
  }
}

bool ends_at_once(Span delay) { return delay <= Span{0}; }

}  // namespace

AlarmState shown_state(const Life* life, bool suppressed) {
  if (life != nullptr) {
    if (life->out_of_service) return AlarmState::out_of_service;
    if (life->active && !life->acknowledged) return AlarmState::unacknowledged;
    if (life->active) return AlarmState::acknowledged;
    if (life->latched) return AlarmState::latched;
    if (life->open && !life->acknowledged) return AlarmState::returned;
  }
  if (suppressed) return AlarmState::suppressed;
  if (life != nullptr && life->condition) return AlarmState::pending;
  return AlarmState::normal;
}

Result<EventKind> apply(LifeInput input, Life& life, const LifeContext& context) {
  for (const Row& row : kTable) {
    if (row.input != input) continue;
    if (!row.fits(life)) return Refusal{refusal(input, life, context)};
    const EventKind event = row.event(life);
    row.effect(life, context);
    return event;
  }
  CHECK(false && "every input stands in the table");
  return Refusal{};
}

std::optional<EventKind> condition_true(Life& life, const LifeContext& c) {
  if (life.condition || life.out_of_service) return std::nullopt;
  life.condition = true;
  life.true_since = life.condition_from = c.now.steady;
  if (life.active) {
    life.returns = kNever;
    life.awaiting_value = false;
    return std::nullopt;
  }
  life.pending_worst = c.value;
  if (!ends_at_once(c.rule.delay)) {
    life.due = c.now.steady + c.rule.delay;
    return std::nullopt;
  }
  return *apply(LifeInput::on_delay_ends, life, c);
}

std::optional<EventKind> condition_false(Life& life, const LifeContext& c) {
  if (!life.condition) return std::nullopt;
  life.condition = false;
  life.due = life.condition_ends = kNever;
  life.held.reset();
  life.pending_worst.reset();
  if (!life.active) return std::nullopt;
  if (!ends_at_once(c.rule.clear_delay)) {
    life.returns = c.now.steady + c.rule.clear_delay;
    return std::nullopt;
  }
  return *apply(LifeInput::off_delay_ends, life, c);
}

std::optional<EventKind> take_out(Life& life, const LifeContext& c) {
  life.condition = false;
  life.due = life.returns = life.condition_ends = kNever;
  life.held.reset();
  life.pending_worst.reset();
  if (!life.active) return std::nullopt;
  return *apply(LifeInput::off_delay_ends, life, c);
}

void hold(Life& life, Steady now) {
  if (!life.condition || life.active) return;
  life.held = now - life.condition_from;
  life.due = kNever;
}

std::optional<EventKind> go_on(Life& life, const LifeContext& c) {
  if (!life.held) return std::nullopt;
  life.condition_from = c.now.steady - *life.held;
  life.held.reset();
  return delay_changed(life, c);
}

std::optional<EventKind> delay_changed(Life& life, const LifeContext& c) {
  if (!life.condition || life.active || life.held) return std::nullopt;
  life.due = life.condition_from + c.rule.delay;
  if (life.due > c.now.steady) return std::nullopt;
  return *apply(LifeInput::on_delay_ends, life, c);
}

void follow_worst(Life& life, bool downwards, Milli value) {
  std::optional<Milli>& worst = life.active ? life.worst : life.pending_worst;
  if (!life.active && !life.condition) return;
  const bool worse = !worst || (downwards ? value < *worst : value > *worst);
  if (worse) worst = value;
}

bool is_worse(const Life& life, const Rule& rule, Milli value) {
  if (!rule.worse_by || !life.reference) return false;
  const Milli beyond = downwards(rule) ? *life.reference - value : value - *life.reference;
  return beyond >= *rule.worse_by;
}

}  // namespace clutchward
