// What is suppressed by design, and for which reason (alarm-semantics, section 6). A rule of kind
// above on temperature never is.
#include <algorithm>

#include "engine/world.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

// A machine that goes on saying "cooling" is not believed for longer (alarm-semantics, section 6).
constexpr Span kCoolingCap = 2h;
// How long the limit must have been held before a warm-up may end early, and not before when.
constexpr Span kLimitHeld = 10min;
constexpr Span kWarmUpAtLeast = 2h;
// A link that blinks again and again must not put a silence off for ever: once it was up for so
// many times the rule's wait, in all, the cabinet had its chance (our own choice).
constexpr int kWaitsLinked = 2;
constexpr std::size_t kLinkChanges = 1'000;

// Kind below; every rule on humidity or wet bulb; spread, trend, rate.
bool damped(const Rule& rule) {
  if (rule.quantity == Quantity::egg) return rule.kind == RuleKind::below;
  return rule.kind == RuleKind::below || rule.kind == RuleKind::spread ||
         rule.kind == RuleKind::trend || rule.kind == RuleKind::rate ||
         ((rule.kind == RuleKind::above) && rule.quantity != Quantity::temperature);
}

bool waits_for_hands(const Rule& rule) {  // attending: somebody has the lid open
  return damped(rule) || rule.kind == RuleKind::turning || rule.kind == RuleKind::still ||
         rule.kind == RuleKind::silent || rule.kind == RuleKind::signal ||
         rule.kind == RuleKind::lid;
}

bool waits_for_broker(const Rule& rule) {
  return rule.kind == RuleKind::silent || rule.kind == RuleKind::turning ||
         rule.kind == RuleKind::all_silent;
}

Span recovery_of(const World& world, const BatchWatch* batch) {
  if (batch == nullptr) return world.settings.recovery;
  if (batch->recovery) return *batch->recovery;
  if (batch->present().recovery) return *batch->present().recovery;
  return batch->profile->recovery.value_or(world.settings.recovery);
}

Span cooling_cap(const CabinetWatch& cabinet) {
  Span cap = kCoolingCap;
  for (const auto& batch : cabinet.batches)
    if (batch->set && !batch->ended)
      for (const CoolingWindow& window : batch->present().cooling)
        cap = std::max(cap, window.lasts);
  return cap;
}

// For how long the broker was linked since then, in all, as far back as changes are kept.
Span linked_since(const World& world, Steady from) {
  Span sum{0};
  Steady until = world.present.steady;
  bool up = world.linked;
  for (auto at = world.link_changes.rbegin(); at != world.link_changes.rend() && until > from;
       ++at) {
    if (up) sum += until - std::max(*at, from);
    until = *at;
    up = !up;
  }
  return sum;
}

}  // namespace

bool warms_up(const Rule& rule) { return damped(rule) && rule.kind != RuleKind::spread; }

bool cooling_now(const World& world, const CabinetWatch& cabinet, const BatchWatch* batch) {
  const Steady now = world.present.steady;
  if (cabinet.cooling) return true;
  if (batch != nullptr) return batch->window_open || now < batch->cooling_until;
  if (now < cabinet.seldom().cooling_until) return true;
  return std::any_of(cabinet.batches.begin(), cabinet.batches.end(), [&](const auto& each) {
    return each->window_open || now < each->cooling_until;
  });
}

std::vector<std::string> reasons(const World& world, const CabinetWatch& cabinet,
                                 const BatchWatch* batch, const Slot& slot) {
  std::vector<std::string> found;
  if (slot.former) return found;
  if (slot.warming) found.emplace_back("warming_up");
  if (damped(*slot.rule) && cooling_now(world, cabinet, batch)) found.emplace_back("cooling");
  if (cabinet.seldom().attending && waits_for_hands(*slot.rule)) found.emplace_back("attending");
  if (waits_for_broker(*slot.rule) && (!world.linked || slot.broker_hold))
    found.emplace_back("broker_lost");
  return found;
}

Steady warm_up_ends(const BatchWatch& batch, const Slot& slot) {
  const Steady latest = batch.set_steady + slot.rule->warm_up;
  if (!slot.limit_held) return latest;
  const Steady earliest = batch.set_steady + std::min<Span>(kWarmUpAtLeast, slot.rule->warm_up);
  return std::min(latest, std::max(earliest, slot.limit_held_since() + kLimitHeld));
}

void link_changed(World& world, bool linked) {
  world.linked = linked;
  world.link_changed_at = world.present.steady;
  world.link_changes.push_back(world.present.steady);
  if (world.link_changes.size() > kLinkChanges) world.link_changes.pop_front();
}

Steady broker_hold_ends(const World& world, const CabinetWatch& cabinet, const BatchWatch* batch,
                        const Slot& slot) {
  Span wait = slot.rule->after;
  if (slot.rule->kind == RuleKind::turning) {
    const auto interval = turn_interval(*batch);
    const auto hours = static_cast<int>(batch->present().turn_at.size());
    wait = interval    ? *interval * slot.rule->missed
           : hours > 0 ? Span(24h) / hours * slot.rule->missed
                       : Span{0};
  }
  if (slot.rule->kind != RuleKind::silent) return world.link_changed_at + wait;
  const Span left = kWaitsLinked * wait - linked_since(world, silence_base(cabinet));
  return std::min(world.link_changed_at + wait, world.present.steady + std::max(Span{0}, left));
}

void renew_suppression(World& world, CabinetWatch& cabinet) {
  visit(cabinet, [&](BatchWatch* batch, Slot& slot) {
    if (slot.former) return;
    const bool now_suppressed = !reasons(world, cabinet, batch, slot).empty();
    if (now_suppressed == slot.suppressed) return;
    slot.suppressed = now_suppressed;
    if (now_suppressed) {
      if (slot.life) hold(*slot.life, world.present.steady);
      return;
    }
    // Judged first: what has turned false meanwhile starts from nothing.
    follow(world, cabinet, batch, slot);
    if (!slot.life) return;
    const auto context = context_of(world, cabinet, batch, slot);
    emit(world, cabinet, batch, slot, go_on(*slot.life, context));
  });
  cabinet.quiet = false;
  touch(world, cabinet);
}

// Each has an end of its own: it is over when both are.
Steady cooling_ends(const Seldom& seldom) {
  if (seldom.hand_cools_until == kNever) return seldom.machine_cools_until;
  if (seldom.machine_cools_until == kNever) return seldom.hand_cools_until;
  return std::max(seldom.hand_cools_until, seldom.machine_cools_until);
}

namespace {

void begin_cooling(World& world, CabinetWatch& cabinet) {
  cabinet.cooling = true;
  for (auto& batch : cabinet.batches) begin_airing(world, cabinet, *batch);
  renew_suppression(world, cabinet);
}

}  // namespace

void end_cooling(World& world, CabinetWatch& cabinet) {
  if (!cabinet.cooling) return;
  const Steady now = world.present.steady;
  cabinet.cooling = false;
  Seldom& seldom = cabinet.make_seldom();
  seldom.hand_cools_until = seldom.machine_cools_until = kNever;
  seldom.cooling_until = std::max(seldom.cooling_until, now + recovery_of(world, nullptr));
  for (auto& batch : cabinet.batches) {
    batch->cooling_until = std::max(batch->cooling_until, now + recovery_of(world, batch.get()));
    end_airing(world, cabinet, *batch, cabinet.cooling_reported);
  }
  renew_suppression(world, cabinet);
}

void machine_cooling(World& world, CabinetWatch& cabinet, bool on) {
  if (on == cabinet.cooling_reported) return;
  cabinet.cooling_reported = on;
  const Steady now = world.present.steady;
  if (on) {
    cabinet.make_seldom().machine_cools_until = now + cooling_cap(cabinet);
    return begin_cooling(world, cabinet);
  }
  if (!cabinet.cooling) return;
  Seldom& seldom = cabinet.make_seldom();
  seldom.machine_cools_until = kNever;
  if (seldom.hand_cools_until == kNever || seldom.hand_cools_until <= now)
    end_cooling(world, cabinet);
}

void cool_by_hand(World& world, CabinetWatch& cabinet, Span length) {
  cabinet.make_seldom().hand_cools_until = world.present.steady + length;
  begin_cooling(world, cabinet);
}

void join_recovery(World& world, const CabinetWatch& cabinet, BatchWatch& batch) {
  batch.cooling_until = Steady{};
  const Steady until = cabinet.seldom().cooling_until;
  if (until == Steady{}) return;
  const Steady own = until - recovery_of(world, nullptr) + recovery_of(world, &batch);
  if (own > world.present.steady) batch.cooling_until = own;
}

void close_window(World& world, CabinetWatch& cabinet, BatchWatch& batch) {
  batch.window_open = false;
  batch.cooling_until =
      std::max(batch.cooling_until, world.present.steady + recovery_of(world, &batch));
  end_airing(world, cabinet, batch, false);
  renew_suppression(world, cabinet);
}

}  // namespace clutchward
