// Which probes are not to be believed, and how often in a row a limit was passed. Looks only where
// a rule asks for it (kind probe, key confirm). It never leaves out the last probe that speaks.
#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <iterator>

#include "engine/wording.h"
#include "engine/world.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

// All of these are proposals from the trade; no published source.
constexpr std::uint32_t kFrozenReadings = 20;
constexpr Milli kOthersMoved = 300;  // more than the last digit of a coarse probe flickers
constexpr Milli kCoarse = 250;       // what a probe of nine bits says is a multiple of 0.5 C
constexpr int kCoarseWaits = 4;      // times longer: it may well stand still
constexpr Milli kJump = 3'000;       // within one reading
constexpr std::uint8_t kJumps = 3;
constexpr Span kJumpsWithin = 10min;
constexpr std::uint8_t kImplausible = 3;

// -0.0625 C: all bits set, said by a common one-wire probe whose ground is lost and that is read
// without its checksum (seen in issue 9 of a driver for the DS18B20). Its other failures, 85, -127
// and 127.9375, lie outside the plausible range. In thousandths, and as two decimals write it.
constexpr Milli kAllBits[] = {-63, -62, -60};

bool is_air(const Probe& probe) {
  return probe.quantity == Quantity::temperature && probe.part == Part::air;
}

const Rule* probe_rule(const CabinetWatch& cabinet) {
  for (const Slot& slot : cabinet.slots)
    if (!slot.former && slot.rule->kind == RuleKind::probe) return slot.rule;
  return nullptr;
}

// The mean of the other fresh probes, in thousandths; none where there is none.
std::optional<Milli> neighbours(const World& world, const CabinetWatch& cabinet,
                                std::uint32_t index) {
  std::int64_t sum = 0;
  int count = 0;
  for (std::uint32_t i = 0; i < cabinet.probes.size(); ++i) {
    const Probe& probe = cabinet.probes[i];
    if (i == index || !is_air(probe) || !probe.heard || probe.left_out ||
        world.present.steady - probe.at >= world.silence())
      continue;
    sum += probe.value;
    ++count;
  }
  if (count == 0) return std::nullopt;
  return static_cast<Milli>(sum / count);
}

void follow_value(const World& world, const CabinetWatch& cabinet, std::uint32_t index,
                  ProbeHealth& health) {
  const Steady now = world.present.steady;
  const Milli value = cabinet.probes[index].value;
  const auto others = neighbours(world, cabinet, index);
  if (health.heard && std::abs(value - health.last) >= kJump) {
    if (now - health.jumped_at > kJumpsWithin) health.jumps = 0;
    health.jumps = static_cast<std::uint8_t>(std::min(health.jumps + 1, 255));
    health.jumped_at = now;
  }
  if (!health.heard || value != health.last) {
    health.same = 0;
    health.same_since = now;
    health.least = health.most = others.value_or(value);
  } else {
    if (health.same < UINT32_MAX) ++health.same;
    if (others) {
      health.least = std::min(health.least, *others);
      health.most = std::max(health.most, *others);
    }
  }
  health.heard = true;
  health.last = value;
  health.implausible = 0;
}

ProbeFault fault_of(const World& world, const CabinetWatch& cabinet, std::uint32_t index,
                    const ProbeHealth& health, const Rule& rule) {
  const Steady now = world.present.steady;
  const Probe& probe = cabinet.probes[index];
  if (health.implausible >= kImplausible) return ProbeFault::implausible;
  if (!probe.heard) return ProbeFault::none;
  if (now - std::max(probe.at, cabinet.early->resumed_at) >= rule.after) return ProbeFault::silent;
  if (health.jumps >= kJumps && now - health.jumped_at <= kJumpsWithin) return ProbeFault::jumping;
  if (health.same < kFrozenReadings) return ProbeFault::none;
  const Span still = now - health.same_since;
  if (still >= rule.early.frozen && health.most - health.least >= kOthersMoved)
    return ProbeFault::frozen;
  const int waits = probe.value % kCoarse == 0 ? kCoarseWaits : 1;
  return still >= rule.early.alone * waits ? ProbeFault::frozen : ProbeFault::none;
}

// Every probe's fault anew; true where one has changed.
bool judge_probes(World& world, CabinetWatch& cabinet, const Rule& rule) {
  Early& early = *cabinet.early;
  bool changed = false;
  for (std::uint32_t i = 0; i < early.probes.size(); ++i) {
    Probe& probe = cabinet.probes[i];
    ProbeHealth& health = early.probes[i];
    const ProbeFault fault =
        is_air(probe) ? fault_of(world, cabinet, i, health, rule) : ProbeFault::none;
    changed = changed || fault != health.fault;
    health.fault = fault;
    probe.left_out = fault == ProbeFault::frozen || fault == ProbeFault::jumping;
  }
  if (changed) touch(world, cabinet);
  return changed;
}

// What the probe said last, or what its neighbours say; none where nothing is known.
std::optional<Milli> known_before(const World& world, const CabinetWatch& cabinet,
                                  std::uint32_t index) {
  const Early& early = *cabinet.early;
  if (index < early.probes.size() && early.probes[index].heard) return early.probes[index].last;
  return neighbours(world, cabinet, index);
}

std::string owner(const BatchWatch* batch) { return batch != nullptr ? batch->id : std::string(); }

}  // namespace

bool examine_probe(World& world, CabinetWatch& cabinet, std::uint32_t index) {
  Early& early = *cabinet.early;
  if (!early.watches_probes) return false;
  const Rule* rule = probe_rule(cabinet);
  if (rule == nullptr) return false;
  const Steady now = world.present.steady;
  early.probes.resize(cabinet.probes.size());
  // Where all were silent, each has its time anew to speak up again.
  if (early.heard_at == Steady{} || now - early.heard_at >= rule->after) early.resumed_at = now;
  early.heard_at = now;
  follow_value(world, cabinet, index, early.probes[index]);
  return judge_probes(world, cabinet, *rule);
}

bool is_error_value(const World& world, const CabinetWatch& cabinet, std::uint32_t index,
                    Milli said) {
  if (std::find(std::begin(kAllBits), std::end(kAllBits), said) == std::end(kAllBits)) return false;
  const Probe& probe = cabinet.probes[index];
  if (!cabinet.early->watches_probes || !is_air(probe)) return false;
  // Frost comes in steps; it may be a true reading where the one before was near.
  const auto before = known_before(world, cabinet, index);
  return before && std::abs(said + probe.offset - *before) >= kJump;
}

void implausible_reading(World& world, CabinetWatch& cabinet, std::uint32_t index) {
  Early& early = *cabinet.early;
  const Rule* rule = early.watches_probes ? probe_rule(cabinet) : nullptr;
  if (rule == nullptr || !is_air(cabinet.probes[index])) return;
  early.probes.resize(cabinet.probes.size());
  ProbeHealth& health = early.probes[index];
  if (health.implausible < kImplausible) ++health.implausible;
  if (!judge_probes(world, cabinet, *rule)) return;
  for (Slot& slot : cabinet.slots)
    if (slot.rule->kind == RuleKind::probe) follow(world, cabinet, nullptr, slot);
  reschedule(world, cabinet);
}

void leave_none_out(CabinetWatch& cabinet) {
  for (Probe& probe : cabinet.probes) probe.left_out = false;
  if (cabinet.early) cabinet.early->probes.clear();
}

bool any_probe_at_fault(const CabinetWatch& cabinet) {
  if (!cabinet.early) return false;
  return std::any_of(cabinet.early->probes.begin(), cabinet.early->probes.end(),
                     [](const ProbeHealth& each) { return each.fault != ProbeFault::none; });
}

std::string probe_fault_word(const CabinetWatch& cabinet, const Probe& probe) {
  const auto index = static_cast<std::size_t>(&probe - cabinet.probes.data());
  if (!cabinet.early || index >= cabinet.early->probes.size()) return {};
  switch (cabinet.early->probes[index].fault) {
    case ProbeFault::frozen:
      return "frozen";
    case ProbeFault::silent:
      return "silent";
    case ProbeFault::implausible:
      return "implausible";
    case ProbeFault::jumping:
      return "jumping";
    case ProbeFault::none:
      break;
  }
  return {};
}

std::string probe_faults(const World& world, const CabinetWatch& cabinet) {
  std::string text;
  for (const Probe& probe : cabinet.probes) {
    const std::string word = probe_fault_word(cabinet, probe);
    if (word.empty()) continue;
    text += (text.empty() ? "" : "; ") + world.names[probe.name] + " " + word;
    if (word == "frozen")
      text += " at " + quantity_text(probe.value, Quantity::temperature, world.settings.show);
    if (probe.left_out) text += " (left out)";
  }
  return text;
}

bool confirmed(const CabinetWatch& cabinet, const BatchWatch* batch, const Rule& rule) {
  if (rule.early.confirm <= 1) return true;
  if (!cabinet.early) return false;
  for (const Confirming& each : cabinet.early->confirming)
    if (each.batch == owner(batch) && each.rule == rule.id) return each.count >= rule.early.confirm;
  return false;
}

bool confirming(const CabinetWatch& cabinet) {
  return cabinet.early &&
         std::any_of(cabinet.early->confirming.begin(), cabinet.early->confirming.end(),
                     [](const Confirming& each) { return each.count > 0; });
}

void confirm(CabinetWatch& cabinet, const BatchWatch* batch, const Slot& slot,
             std::uint32_t index) {
  const Rule& rule = *slot.rule;
  if (rule.early.confirm <= 1) return;
  auto& all = early_of(cabinet).confirming;
  auto found = std::find_if(all.begin(), all.end(), [&](const Confirming& each) {
    return each.batch == owner(batch) && each.rule == rule.id;
  });
  const Seen* seen = seen_of(cabinet, rule.quantity);
  const auto limit = limit_of(rule, batch);
  if (seen == nullptr || !limit) return;
  const bool below = rule.kind == RuleKind::below;
  const Milli together = rule.id == "overheat" ? seen->hottest
                         : below               ? seen->fresh.below
                                               : seen->fresh.above;
  const auto past = [&](Milli value) { return below ? value < *limit : value > *limit; };
  if (found == all.end()) found = all.insert(all.end(), {owner(batch), rule.id, 0});
  // One spike stands in the combination until its probe speaks again: what the others say meanwhile
  // confirms nothing.
  if (!past(together))
    found->count = 0;
  else if (past(cabinet.probes[index].value) && found->count < rule.early.confirm)
    ++found->count;
}

}  // namespace clutchward
