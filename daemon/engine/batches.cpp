// Batches in time: planned, set, their stages by day, their cooling windows, turning due or not,
// ended. Days and windows run on wall time; what wall time has begun it does not take back.
#include <algorithm>

#include "engine/world.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

// `still`: how long after an unwanted turn the machine must have been at rest (section 7).
constexpr Span kStillAtLeast = 30min;
// A turn by hand so long before or after its hour still is that hour's (our own choice).
constexpr Span kHandGrace = 30min;

// How long a stage waits for the eggs to be moved, and how early a move can begin it: the hatcher
// is used a day or two before the day (common practice, no published source).
constexpr Span kMoveLatest = 24h;
constexpr Span kMoveEarliest = 48h;

// When the clock begins a stage, moved or not.
Wall begins_at(const BatchWatch& batch, std::uint32_t stage) {
  const Stage& that = batch.profile->stages[stage];
  return batch.set_at + that.from + (that.begins == Begins::moved ? kMoveLatest : Span{0});
}

std::uint32_t stage_at(const BatchWatch& batch, Wall now) {
  std::uint32_t stage = 0;
  for (std::uint32_t i = 1; i < batch.profile->stages.size(); ++i)
    if (begins_at(batch, i) <= now) stage = i;
  return stage;
}

Span last_earlier_interval(const BatchWatch& batch) {
  for (std::uint32_t i = batch.stage + 1; i-- > 0;)
    if (batch.profile->stages[i].turn_every) return *batch.profile->stages[i].turn_every;
  return Span{0};
}

}  // namespace

BatchWatch* find_batch(CabinetWatch& cabinet, const std::string& id) {
  for (auto& batch : cabinet.batches)
    if (batch->id == id) return batch.get();
  return nullptr;
}

const BatchWatch* batch_named(const World& world, const std::string& id) {
  CabinetWatch* const home = home_of(world, id);
  return home == nullptr ? nullptr : find_batch(*home, id);
}

CabinetWatch* home_of(const World& world, const std::string& id) {
  const auto place = world.home_index.find(HashIndex::hash_of(id), [&](std::uint32_t at) {
    return find_batch(*world.cabinets[at], id) != nullptr;
  });
  return place ? world.cabinets[*place].get() : nullptr;
}

std::vector<std::string> batch_ids(const World& world) {
  std::vector<std::string> ids;
  for (const auto& cabinet : world.cabinets)
    for (const auto& batch : cabinet->batches) ids.push_back(batch->id);
  return ids;
}

BatchWatch& add_batch(World& world, CabinetWatch& cabinet, std::unique_ptr<BatchWatch> batch) {
  const auto at =
      std::lower_bound(cabinet.batches.begin(), cabinet.batches.end(), batch->id,
                       [](const auto& each, const std::string& id) { return each->id < id; });
  world.home_index.insert(HashIndex::hash_of(batch->id), cabinet.index);
  record_changed(world, batch->id);
  cabinet.quiet = false;
  BatchWatch& added = **cabinet.batches.insert(at, std::move(batch));
  renew_tracks(cabinet);  // one that moved brings its rules
  return added;
}

std::optional<Span> turn_interval(const BatchWatch& batch) { return batch.present().turn_every; }

bool turns_wanted(const CabinetWatch& cabinet) {
  return std::any_of(cabinet.batches.begin(), cabinet.batches.end(), [](const auto& batch) {
    return batch->turning_due || (batch->set && !batch->ended && batch->present().turn_any);
  });
}

Steady turning_deadline(const World& world, const CabinetWatch& cabinet, const BatchWatch& batch,
                        int missed) {
  if (!batch.turning_due) return kNever;
  const Stage& stage = batch.present();
  const Steady base = turning_base(cabinet, batch);
  if (stage.turn_at.empty()) return stage.turn_every ? base + *stage.turn_every * missed : kNever;
  Wall at = world.wall_of(base) + kHandGrace;
  for (int i = 0; i < missed; ++i) {
    Wall next = Wall::max();
    for (const Span hour : stage.turn_at) next = std::min(next, world.zone.next_at(at, hour));
    at = next;
  }
  return world.steady_of(at + kHandGrace);
}

Steady turning_base(const CabinetWatch& cabinet, const BatchWatch& batch) {
  return cabinet.last_turn ? std::max(*cabinet.last_turn, batch.turning_due_since)
                           : batch.turning_due_since;
}

Steady silence_base(const CabinetWatch& cabinet) {
  return cabinet.temperature.known ? std::max(cabinet.temperature.last, cabinet.known_at)
                                   : cabinet.known_at;
}

double day_of(const World& world, const BatchWatch& batch) {
  return std::chrono::duration<double, std::ratio<86400>>(world.present.wall - batch.set_at)
      .count();
}

void renew_turning(World& world, CabinetWatch& cabinet) {
  const bool turner =
      cabinet.machine_turns || (cabinet.settings != nullptr && cabinet.settings->turner);
  for (auto& batch : cabinet.batches) {
    const bool on = batch->set && !batch->ended;
    const bool due = on && ((turner && turn_interval(*batch)) || !batch->present().turn_at.empty());
    if (due && !batch->turning_due) batch->turning_due_since = world.present.steady;
    batch->turning_due = due;
  }
}

void turned(World& world, CabinetWatch& cabinet, bool by_machine) {
  const Steady now = world.present.steady;
  if (by_machine && !cabinet.machine_turns) {
    cabinet.machine_turns = true;
    renew_turning(world, cabinet);
  }
  cabinet.last_turn = now;
  count_turn(world, cabinet, by_machine);
  cabinet.quiet = false;
  touch(world, cabinet);
  bool hold_ended = false;
  visit(cabinet, [&](BatchWatch* batch, Slot& slot) {
    if (slot.former) return;
    if (slot.rule->kind == RuleKind::turning) {
      follow(world, cabinet, batch, slot);
      if (slot.broker_hold && world.linked) slot.broker_hold = false, hold_ended = true;
    }
    if (slot.rule->kind != RuleKind::still || turns_wanted(cabinet)) return;
    if (slot.suppressed && !(slot.life && slot.life->active)) return;
    const auto context = context_of(world, cabinet, batch, slot);
    emit(world, cabinet, batch, slot, condition_true(life_of(slot), context));
    if (slot.life->condition)
      slot.life->condition_ends = now + std::max(kStillAtLeast, 2 * last_earlier_interval(*batch));
    tidy(slot);
  });
  if (hold_ended) renew_suppression(world, cabinet);
}

void bind_stage(World& world, CabinetWatch& cabinet, BatchWatch& batch) {
  const auto replaced = std::move(batch.own_rules);
  batch.still = cabinet.settings != nullptr && cabinet.settings->machine == MachineType::still;
  renew_turning(world, cabinet);
  if (batch.overrides) {
    batch.own_rules = std::make_unique<RuleSet>(
        world.book->with_overrides(*batch.profile, batch.stage, batch.still, *batch.overrides));
    bind_rules(world, cabinet, &batch, *batch.own_rules);
  } else {
    bind_rules(world, cabinet, &batch,
               world.book->of_stage(*batch.profile, batch.stage, batch.still));
  }
}

void find_window(World& world, BatchWatch& batch) {
  batch.window_edge = Wall::max();
  if (!batch.set || batch.ended) return;
  const Wall now = world.present.wall;
  for (const CoolingWindow& window : batch.present().cooling) {
    if (window.due_by) continue;  // by hand, at no hour
    // A window that is open already where the stage begins, or the watch.
    const Wall opened = world.zone.next_at(now - window.lasts, window.at);
    if (opened <= now && now < opened + window.lasts) {
      batch.window_open = true;
      batch.window_edge = opened + window.lasts;
      return;
    }
    batch.window_edge = std::min(batch.window_edge, world.zone.next_at(now, window.at));
  }
}

namespace {

void enter_stage(World& world, CabinetWatch& cabinet, BatchWatch& batch, std::uint32_t stage) {
  batch.stage = stage;
  record_changed(world, batch.id);
  touch(world, world.site());  // so that the time of the last save is never before it
  const bool was_open = batch.window_open;
  batch.window_open = false;
  find_window(world, batch);
  if (was_open && !batch.window_open) close_window(world, cabinet, batch);
  bind_airing(world, batch);
  if (batch.window_open || cabinet.cooling) begin_airing(world, cabinet, batch);
  bind_stage(world, cabinet, batch);
  renew_suppression(world, cabinet);
  // Another batch's stage may have been the last one with turning due, or the first.
  visit(cabinet, [&](BatchWatch* owner, Slot& slot) {
    if (!slot.former && slot.rule->kind == RuleKind::still) follow(world, cabinet, owner, slot);
  });
}

}  // namespace

void begin_if_due(World& world, CabinetWatch& cabinet, BatchWatch& batch) {
  if (batch.ended) return;
  // A clock that cannot be trusted is no news, but what was due at the last save was due.
  const Wall now = world.present.wall_trusted ? world.present.wall : world.saved_at;
  if (batch.set_at > now || now == Wall{}) return;
  const std::uint32_t stage = std::max(batch.stage, stage_at(batch, now));
  if (batch.set && stage == batch.stage) return;
  if (!batch.set) {
    batch.set = true;
    batch.set_steady = world.present.steady + (batch.set_at - now);
  }
  enter_stage(world, cabinet, batch, stage);
}

void restage(World& world, CabinetWatch& cabinet, BatchWatch& batch, std::uint32_t at_least) {
  if (!batch.set || batch.ended) return;
  enter_stage(world, cabinet, batch, std::max(at_least, stage_at(batch, world.present.wall)));
}

std::optional<std::uint32_t> stage_of_move(const World& world, const BatchWatch& batch) {
  if (!batch.set || batch.ended) return std::nullopt;
  const auto& stages = batch.profile->stages;
  for (std::uint32_t i = batch.stage + 1; i < stages.size(); ++i)
    if (stages[i].begins == Begins::moved)
      return world.present.wall >= batch.set_at + stages[i].from - kMoveEarliest ? std::optional(i)
                                                                                 : std::nullopt;
  return std::nullopt;
}
Wall next_calendar(const World&, const BatchWatch& batch) {
  if (batch.ended) return Wall::max();
  if (!batch.set) return batch.set_at;
  Wall next = batch.window_edge;
  if (batch.airing) next = std::min(next, batch.airing->next_due);
  for (std::uint32_t i = batch.stage + 1; i < batch.profile->stages.size(); ++i)
    next = std::min(next, begins_at(batch, i));
  return next;
}

void fire_calendar(World& world, CabinetWatch& cabinet, BatchWatch& batch) {
  const Wall now = world.present.wall;
  if (batch.set && batch.window_edge <= now) {
    if (batch.window_open) {
      close_window(world, cabinet, batch);
      find_window(world, batch);
    } else {
      batch.window_open = false;
      find_window(world, batch);
      if (batch.window_open) begin_airing(world, cabinet, batch);
      renew_suppression(world, cabinet);
    }
  }
  miss_airing_if_due(world, cabinet, batch);
  begin_if_due(world, cabinet, batch);
  touch(world, cabinet);
}

void end_batch(World& world, CabinetWatch& cabinet, BatchWatch& batch) {
  static const RuleSet none;
  batch.ended = true;
  BatchRecord& paper = paper_of(world, batch);
  if (!paper.ended_at) paper.ended_at = world.present.wall;
  batch.window_open = false;
  batch.cooling_until = Steady{};
  batch.airing.reset();
  renew_turning(world, cabinet);
  bind_rules(world, cabinet, &batch, none);
  batch.own_rules.reset();
  renew_suppression(world, cabinet);  // the machine's rules waited for its cooling
  world.ended_batches.insert(batch.id);
  touch(world, cabinet);
}

std::unique_ptr<BatchWatch> take_batch(World& world, CabinetWatch& cabinet, BatchWatch& batch) {
  world.home_index.erase(HashIndex::hash_of(batch.id), cabinet.index);
  std::unique_ptr<BatchWatch> taken;
  for (auto& each : cabinet.batches)
    if (each.get() == &batch) taken = std::move(each);
  std::erase(cabinet.batches, nullptr);
  return taken;
}

void drop_finished(World& world, CabinetWatch& cabinet) {
  std::erase_if(cabinet.batches, [&](const auto& batch) {
    if (!batch->ended || !batch->slots.empty()) return false;
    world.finished[batch->id] = std::make_unique<BatchRecord>(record_of(world, cabinet, *batch));
    world.dirty_papers.insert(batch->id);
    world.home_index.erase(HashIndex::hash_of(batch->id), cabinet.index);
    Tree stub = Tree::map();
    stub.add("ended", "true");
    world.changes.push_back({"batches/" + batch->id, std::move(stub)});
    touch(world, cabinet);  // the configuration no longer brings it back, perhaps
    return true;
  });
  let_records_go(world);
}

}  // namespace clutchward
