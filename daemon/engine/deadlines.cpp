// The clock of the engine: which deadline comes next, in the order of alarm-semantics section 1,
// and what each does. Each cabinet stands once in each of two heaps (spans on the steady clock,
// calendars on wall time) with a time that is never later than its true next one: a silence that
// moves on with every reading is looked at again only when it seems due.
#include <algorithm>

#include "base/check.h"
#include "engine/world.h"

namespace clutchward {
namespace {

// The order inside one alarm (section 1): the condition's own, delays, warm-up, snooze,
// acknowledgement, and last the end of being out of service.
enum class Item : std::uint8_t { own, condition, delays, warm_up, snooze, acknowledgement, out };

struct Due {
  Steady at = kNever;
  BatchWatch* batch = nullptr;
  Slot* slot = nullptr;
  Item part = Item::own;
};

void consider(Due& first, Steady at, BatchWatch* batch, Slot* slot, Item part) {
  if (at < first.at) first = {at, batch, slot, part};
}

Steady condition_due(const World& world, const CabinetWatch& cabinet, const BatchWatch* batch,
                     const Slot& slot) {
  const Life* life = slot.life.get();
  const bool holds = life != nullptr && life->condition;
  if (slot.broker_hold && world.linked) return broker_hold_ends(world, cabinet, batch, slot);
  if (slot.rule->kind == RuleKind::still) return holds ? life->condition_ends : kNever;
  if (holds || (life != nullptr && life->out_of_service)) return kNever;
  if (slot.suppressed && !(life != nullptr && life->active)) return kNever;
  switch (slot.rule->kind) {
    case RuleKind::silent:
      return silence_base(cabinet) + slot.rule->after;
    case RuleKind::all_silent:
      return all_silent_due(world, *slot.rule);
    case RuleKind::broker:
      return world.linked ? kNever : world.link_changed_at + slot.rule->after;
    case RuleKind::turning:
      return turning_deadline(world, cabinet, *batch, slot.rule->missed);
    case RuleKind::lid:
      return lid_due(world, cabinet, *batch, *slot.rule);
    default:
      return kNever;
  }
}

void consider_slot(const World& world, const CabinetWatch& cabinet, BatchWatch* batch, Slot& slot,
                   Due& first) {
  if (!slot.former) {
    consider(first, condition_due(world, cabinet, batch, slot), batch, &slot, Item::condition);
    if (slot.warming && batch != nullptr)
      consider(first, warm_up_ends(*batch, slot), batch, &slot, Item::warm_up);
  }
  if (!slot.life) return;
  const Life& life = *slot.life;
  consider(first, std::min(life.due, life.returns), batch, &slot, Item::delays);
  consider(first, life.snoozed_until, batch, &slot, Item::snooze);
  consider(first, life.holds_until, batch, &slot, Item::acknowledgement);
  if (life.out_of_service) consider(first, life.out_of_service->until, batch, &slot, Item::out);
}

Steady own_due(const CabinetWatch& cabinet) {
  Steady due = kNever;
  if (cabinet.seldom().attending) due = std::min(due, cabinet.seldom().attending->until);
  if (cabinet.cooling) due = std::min(due, cooling_ends(cabinet.seldom()));
  if (cabinet.seldom().cooling_until != Steady{})
    due = std::min(due, cabinet.seldom().cooling_until);
  return due;
}

// The first of the cabinet's deadlines on the steady clock, or of both clocks.
Due first_due(World& world, CabinetWatch& cabinet, bool with_calendar) {
  Due first;
  consider(first, own_due(cabinet), nullptr, nullptr, Item::own);
  for (Slot& slot : cabinet.slots) consider_slot(world, cabinet, nullptr, slot, first);
  for (auto& batch : cabinet.batches) {
    if (batch->cooling_until != Steady{})
      consider(first, batch->cooling_until, batch.get(), nullptr, Item::own);
    if (with_calendar && world.present.wall_trusted) {
      const Wall next = next_calendar(world, *batch);
      if (next != Wall::max())
        consider(first, std::max(world.steady_of(next), world.present.steady), batch.get(), nullptr,
                 Item::own);
    }
    for (Slot& slot : batch->slots) consider_slot(world, cabinet, batch.get(), slot, first);
  }
  return first;
}

Wall first_calendar(const World& world, const CabinetWatch& cabinet) {
  Wall first = Wall::max();
  for (const auto& batch : cabinet.batches) first = std::min(first, next_calendar(world, *batch));
  return first;
}

void fire_own(World& world, CabinetWatch& cabinet) {
  const Steady now = world.present.steady;
  if (cabinet.seldom().attending && cabinet.seldom().attending->until <= now) {
    cabinet.make_seldom().attending.reset();
    renew_suppression(world, cabinet);
    world.attending_ended.push_back(cabinet.id);
    return;
  }
  if (cabinet.cooling && cooling_ends(cabinet.seldom()) <= now) {
    end_cooling(world, cabinet);
    return;
  }
  cabinet.make_seldom().cooling_until = Steady{};
  renew_suppression(world, cabinet);
}

void fire_condition(World& world, CabinetWatch& cabinet, BatchWatch* batch, Slot& slot) {
  if (slot.broker_hold && world.linked) {
    slot.broker_hold = false;
    renew_suppression(world, cabinet);
    return;
  }
  follow(world, cabinet, batch, slot);
}

void fire_delay(World& world, CabinetWatch& cabinet, BatchWatch* batch, Slot& slot) {
  Life& life = *slot.life;
  const auto context = context_of(world, cabinet, batch, slot);
  if (life.due <= world.present.steady) {
    emit(world, cabinet, batch, slot, *apply(LifeInput::on_delay_ends, life, context));
    return;
  }
  const bool needs_value = slot.rule->kind == RuleKind::above || slot.rule->kind == RuleKind::below;
  const Seen* seen = seen_of(
      cabinet, slot.rule->quantity == Quantity::egg ? Quantity::temperature : slot.rule->quantity);
  if (needs_value && (seen == nullptr || !seen->current(world.present.steady, world.silence()))) {
    life.returns = kNever;
    life.awaiting_value = true;
    touch(world, cabinet);
    return;
  }
  emit(world, cabinet, batch, slot, *apply(LifeInput::off_delay_ends, life, context));
}

void fire_slot(World& world, CabinetWatch& cabinet, const Due& due) {
  Slot& slot = *due.slot;
  switch (due.part) {
    case Item::own:
      return;
    case Item::condition:
      fire_condition(world, cabinet, due.batch, slot);
      break;
    case Item::delays:
      fire_delay(world, cabinet, due.batch, slot);
      break;
    case Item::warm_up:
      slot.warming = slot.limit_held = false;
      renew_suppression(world, cabinet);
      break;
    case Item::snooze:
    case Item::acknowledgement: {
      const auto input =
          due.part == Item::snooze ? LifeInput::snooze_ends : LifeInput::acknowledgement_ends;
      const auto context = context_of(world, cabinet, due.batch, slot);
      slot.life->holds_until = kNever;
      emit(world, cabinet, due.batch, slot, *apply(input, *slot.life, context));
      break;
    }
    case Item::out: {
      const auto context = context_of(world, cabinet, due.batch, slot);
      emit(world, cabinet, due.batch, slot, *apply(LifeInput::in_service, *slot.life, context));
      follow(world, cabinet, due.batch, slot);
      break;
    }
  }
  tidy(slot);
}

void fire(World& world, CabinetWatch& cabinet, const Due& due) {
  cabinet.quiet = false;
  if (due.slot != nullptr) {
    fire_slot(world, cabinet, due);
    if (due.slot->former) drop_closed_formers(cabinet, due.batch);
  } else if (due.batch == nullptr) {
    fire_own(world, cabinet);
  } else if (due.batch->cooling_until != Steady{} &&
             due.batch->cooling_until <= world.present.steady) {
    due.batch->cooling_until = Steady{};
    end_recovery(world, cabinet, *due.batch);
    renew_suppression(world, cabinet);
    if (next_calendar(world, *due.batch) <= world.present.wall && world.present.wall_trusted)
      fire_calendar(world, cabinet, *due.batch);
  } else {
    fire_calendar(world, cabinet, *due.batch);
  }
  drop_finished(world, cabinet);
  reschedule(world, cabinet);
}

// The cabinet whose deadline seems to come first, by both heaps.
std::optional<std::pair<Steady, std::uint32_t>> head(const World& world) {
  std::optional<std::pair<Steady, std::uint32_t>> first;
  if (!world.spans.empty()) first = {Steady{Span{world.spans.top_time()}}, world.spans.top()};
  if (world.calendar.empty() || !world.present.wall_trusted) return first;
  const Steady at =
      std::max(world.steady_of(Wall{Span{world.calendar.top_time()}}), world.present.steady);
  const std::uint32_t item = world.calendar.top();
  const bool sooner =
      !first || at < first->first ||
      (at == first->first && world.cabinets[item]->id < world.cabinets[first->second]->id);
  if (sooner) first = {at, item};
  return first;
}

}  // namespace

void reschedule(World& world, CabinetWatch& cabinet) {
  const Due due = first_due(world, cabinet, false);
  if (due.at == kNever)
    world.spans.remove(cabinet.index);
  else
    world.spans.set(cabinet.index, due.at.time_since_epoch().count());
  const Wall calendar = first_calendar(world, cabinet);
  if (calendar == Wall::max())
    world.calendar.remove(cabinet.index);
  else
    world.calendar.set(cabinet.index, calendar.time_since_epoch().count());
}

void fire_until(World& world, Steady until, bool inclusive) {
  for (;;) {
    const auto next = head(world);
    if (!next || next->first > until || (next->first == until && !inclusive)) return;
    CabinetWatch& cabinet = *world.cabinets[next->second];
    const Due due = first_due(world, cabinet, true);
    if (due.at > next->first) {  // it was only a lower bound
      reschedule(world, cabinet);
      continue;
    }
    const Steady at = std::max(due.at, world.present.steady);
    world.present.wall += at - world.present.steady;
    world.present.steady = at;
    fire(world, cabinet, due);
  }
}

std::optional<Steady> next_deadline(World& world) {
  const auto next = head(world);
  return next ? std::optional(next->first) : std::nullopt;
}

}  // namespace clutchward
