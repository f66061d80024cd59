// The airing of eggs: kinds cooling and lid. An airing runs while a window is open, the machine
// says so or a person does; when it ends it must have taken the temperature down by `fall`, and by
// the end of the recovery the low limit must be regained. It refuses to guess: without a current
// temperature an airing is neither good nor bad.
#include <algorithm>

#include "engine/wording.h"
#include "engine/world.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

// A stage that begins later than this before an hour by which the eggs must have been aired asks
// for none that day (our own choice).
constexpr Span kNotice = 6h;
constexpr Span kJustNow = 10min;

const Rule* rule_of(const BatchWatch& batch, RuleKind kind) {
  for (const Slot& slot : batch.slots)
    if (!slot.former && slot.rule->kind == kind) return slot.rule;
  return nullptr;
}

// The limit that must be regained: rule `low`, or else the lowest of the batch's own.
std::optional<Milli> low_limit(const BatchWatch& batch) {
  std::optional<Milli> lowest;
  for (const Slot& slot : batch.slots) {
    const Rule& rule = *slot.rule;
    if (slot.former || rule.kind != RuleKind::below || rule.quantity != Quantity::temperature)
      continue;
    const auto limit = limit_of(rule, &batch);
    if (limit && rule.id == "low") return limit;
    if (limit && (!lowest || *limit < *lowest)) lowest = limit;
  }
  return lowest;
}

std::optional<Milli> temperature_now(const World& world, const CabinetWatch& cabinet) {
  if (!cabinet.temperature.current(world.present.steady, world.silence())) return std::nullopt;
  return cabinet.temperature.fresh.below;
}

// What the fall counts from: the temperature when it begins or, since lids open a little before the
// hour and readings come on it, the higher one of up to ten minutes before.
std::optional<Milli> temperature_before(const World& world, const CabinetWatch& cabinet) {
  const auto now = temperature_now(world, cabinet);
  if (!now || !cabinet.trend_known || world.present.steady - cabinet.recent_at > kJustNow)
    return now;
  return std::max({*now, cabinet.recent, cabinet.earlier});
}

// The next hour by which an airing by hand must have been done, after `after`.
Wall next_due(const World& world, const BatchWatch& batch, Wall after) {
  Wall next = Wall::max();
  for (const CoolingWindow& window : batch.present().cooling)
    if (window.due_by) next = std::min(next, world.zone.next_at(after, *window.due_by));
  return next;
}

// The hour before `due`: an airing since then counts for it.
Wall due_before(const World& world, const BatchWatch& batch, Wall due) {
  Wall last = Wall::min();
  for (const CoolingWindow& window : batch.present().cooling) {
    if (!window.due_by) continue;
    // A local day has up to 25 hours.
    for (Wall at = world.zone.next_at(due - 26h, *window.due_by); at < due;
         at = world.zone.next_at(at, *window.due_by))
      last = std::max(last, at);
  }
  return last;
}

// What came of it goes into the batch's record.
void note_airing(World& world, const BatchWatch& batch, BatchRecord& paper) {
  const Airing& airing = *batch.airing;
  CoolingDone done;
  done.from = world.wall_of(airing.began);
  done.to = world.wall_of(airing.ended);
  done.lowest = airing.lowest;
  if (airing.verdict == "good") done.regained = world.present.wall;
  done.verdict = airing.verdict;
  paper.coolings.push_back(std::move(done));
}

void follow_rules(World& world, CabinetWatch& cabinet, BatchWatch& batch) {
  for (Slot& slot : batch.slots)
    if (!slot.former && is_airing_rule(slot.rule->kind)) {
      follow(world, cabinet, &batch, slot);
      tidy(slot);
    }
  cabinet.quiet = false;
  touch(world, cabinet);
}

void judge_bad(Airing& airing, std::string verdict) {
  airing.judged = airing.bad = true;
  airing.verdict = std::move(verdict);
}

void judge_good(Airing& airing) {
  airing.judged = true;
  airing.bad = false;
  airing.verdict = "good";
}

bool too_deep(const BatchWatch& batch, const Airing& airing) {
  const Rule* rule = rule_of(batch, RuleKind::cooling);
  return rule != nullptr && rule->deepest && airing.lowest && *airing.lowest < *rule->deepest;
}

// What is known as soon as it has ended.
void judge_end(World& world, CabinetWatch& cabinet, const BatchWatch& batch, Airing& airing,
               bool cut_off) {
  const Rule* rule = rule_of(batch, RuleKind::cooling);
  if (!airing.before || !airing.lowest) {  // nobody saw it: it cannot be told
    airing.judged = true;
    airing.verdict = "unseen";
    return;
  }
  const Milli fall = rule != nullptr ? rule->fall : 1000;
  airing.fell = *airing.before - *airing.lowest >= fall;
  const auto now = temperature_now(world, cabinet);
  const auto limit = low_limit(batch);
  if (!airing.fell)
    judge_bad(airing, "missed");
  else if (too_deep(batch, airing))
    judge_bad(airing, "too_deep");
  else if (cut_off ||
           (rule != nullptr && rule->longest && airing.ended - airing.began > *rule->longest))
    judge_bad(airing, "too_long");
  else if (!limit || (now && *now >= *limit))
    judge_good(airing);
}

}  // namespace

void bind_airing(World& world, BatchWatch& batch) {
  if (!batch.set || batch.ended || batch.present().cooling.empty()) {
    batch.airing.reset();
    return;
  }
  if (!batch.airing) batch.airing = std::make_unique<Airing>();
  // A due hour that passed while nobody watched is still to be looked at.
  if (batch.airing->next_due <= world.present.wall) return;
  const Wall begun = batch.set_at + batch.present().from;
  batch.airing->next_due = next_due(world, batch, std::max(world.present.wall, begun + kNotice));
}

void begin_airing(World& world, CabinetWatch& cabinet, BatchWatch& batch) {
  if (!batch.airing || batch.airing->running) return;
  Airing& airing = *batch.airing;
  airing.running = true;
  airing.judged = false;
  airing.fell = false;
  airing.risen = true;
  airing.began = world.present.steady;
  airing.before = temperature_before(world, cabinet);
  airing.lowest = temperature_now(world, cabinet);
  airing.at_end.reset();
  follow_rules(world, cabinet, batch);
}

void end_airing(World& world, CabinetWatch& cabinet, BatchWatch& batch, bool cut_off) {
  if (!batch.airing || !batch.airing->running || batch.window_open || cabinet.cooling) return;
  Airing& airing = *batch.airing;
  airing.running = false;
  airing.ended = world.present.steady;
  judge_end(world, cabinet, batch, airing, cut_off);
  if (airing.verdict != "missed" || !airing.judged) airing.last = world.present.wall;
  const Rule* lid = rule_of(batch, RuleKind::lid);
  airing.at_end = temperature_now(world, cabinet) ? airing.lowest : std::nullopt;
  airing.risen = lid == nullptr || !airing.at_end || !airing.fell ||
                 *airing.at_end > batch.target() - lid->rise;
  if (airing.judged) note_airing(world, batch, paper_of(world, batch));
  follow_rules(world, cabinet, batch);
}

void end_recovery(World& world, CabinetWatch& cabinet, BatchWatch& batch) {
  if (!batch.airing || batch.airing->running || batch.airing->judged) return;
  const auto now = temperature_now(world, cabinet);
  const auto limit = low_limit(batch);
  if (now && limit && *now < *limit)
    judge_bad(*batch.airing, "not_recovered");
  else if (now)
    judge_good(*batch.airing);
  else
    batch.airing->judged = true, batch.airing->verdict = "unseen";
  note_airing(world, batch, paper_of(world, batch));
  follow_rules(world, cabinet, batch);
}

bool airing_watched(const BatchWatch& batch) {
  const Airing* airing = batch.airing.get();
  return airing != nullptr && (airing->running || !airing->judged || !airing->risen);
}

void follow_airing(World& world, CabinetWatch& cabinet) {
  for (auto& batch : cabinet.batches) {
    if (!airing_watched(*batch)) continue;
    const Milli now = cabinet.temperature.fresh.below;
    Airing& airing = *batch->airing;
    if (airing.running && !airing.before) airing.before = now;
    if (!airing.judged) airing.lowest = std::min(airing.lowest.value_or(now), now);
    const bool was_judged = airing.judged, was_risen = airing.risen;
    if (!airing.running && !airing.judged) {
      const auto limit = low_limit(*batch);
      if (too_deep(*batch, airing))
        judge_bad(airing, "too_deep");
      else if (!limit || now >= *limit)
        judge_good(airing);
    }
    if (!airing.running && !airing.risen) {
      const Rule* lid = rule_of(*batch, RuleKind::lid);
      airing.at_end = std::min(*airing.at_end, now);
      airing.risen =
          lid == nullptr || now >= *airing.at_end + lid->rise || now > batch->target() - lid->rise;
    }
    if (airing.judged && !was_judged) note_airing(world, *batch, paper_of(world, *batch));
    if (airing.judged != was_judged || airing.risen != was_risen)
      follow_rules(world, cabinet, *batch);
  }
}

void miss_airing_if_due(World& world, CabinetWatch& cabinet, BatchWatch& batch) {
  if (!batch.airing || batch.airing->next_due > world.present.wall) return;
  Airing& airing = *batch.airing;
  const Wall due = airing.next_due;
  const bool done = airing.last && *airing.last > due_before(world, batch, due);
  airing.next_due = next_due(world, batch, world.present.wall);
  if (done || airing.running) return;
  airing.bad = true;
  airing.verdict = "missed";
  airing.before.reset();  // those of an airing before tell nothing of one that never was
  airing.lowest.reset();
  paper_of(world, batch).coolings.push_back({due, due, {}, {}, "missed", ""});
  follow_rules(world, cabinet, batch);
}

std::optional<bool> judge_airing(const World& world, const BatchWatch& batch, const Rule& rule) {
  const Airing* airing = batch.airing.get();
  if (airing == nullptr) return false;
  if (rule.kind == RuleKind::cooling) return airing->bad;
  return !airing->running && !airing->risen && world.present.steady - airing->ended >= rule.after;
}

Steady lid_due(const World& world, const CabinetWatch& cabinet, const BatchWatch& batch,
               const Rule& rule) {
  const Airing* airing = batch.airing.get();
  if (airing == nullptr || airing->running || airing->risen) return kNever;
  // Nothing heard by then: silence tells that, not the lid.
  const Steady due = airing->ended + rule.after;
  return cabinet.temperature.current(std::max(due, world.present.steady), world.silence()) ? due
                                                                                           : kNever;
}

AiringFigures airing_figures(const World& world, const CabinetWatch& cabinet,
                             const BatchWatch& batch, const Rule& rule) {
  const Airing* airing = batch.airing.get();
  if (airing == nullptr) return {};
  const auto now = temperature_now(world, cabinet);
  if (rule.kind == RuleKind::lid) {
    AiringFigures lid{{}, rule.rise, "K"};
    if (now && airing->at_end) lid.value = std::max(0, *now - *airing->at_end);
    return lid;
  }
  if (airing->verdict == "too_deep") return {airing->lowest, rule.deepest, "C"};
  if (airing->verdict == "not_recovered") return {now, low_limit(batch), "C"};
  if (airing->verdict == "too_long") {
    const auto minutes = [](Span span) { return static_cast<Milli>(span / 60ms); };
    return {minutes(airing->ended - airing->began),
            rule.longest ? std::optional(minutes(*rule.longest)) : std::nullopt, "min"};
  }
  AiringFigures fall{{}, rule.fall, "K"};
  if (airing->before && airing->lowest) fall.value = *airing->before - *airing->lowest;
  return fall;
}

std::string airing_evidence(const World& world, const CabinetWatch& cabinet,
                            const BatchWatch& batch, const Rule& rule) {
  const Airing* airing = batch.airing.get();
  if (airing == nullptr) return {};
  const Show show = world.settings.show;
  if (rule.kind == RuleKind::lid) {
    const auto now = temperature_now(world, cabinet);
    if (!now || !airing->at_end) return "it is not known to have warmed up since the airing";
    return quantity_text(*now, Quantity::temperature, show) + " now, " +
           quantity_text(*airing->at_end, Quantity::temperature, show) +
           " when the airing ended: not warmer by " +
           difference_text(rule.rise, Quantity::temperature, show) + " yet";
  }
  if (airing->verdict == "missed" && airing->before && airing->lowest)
    return "at the last airing the temperature fell by " +
           difference_text(*airing->before - *airing->lowest, Quantity::temperature, show) +
           ", wanted " + difference_text(rule.fall, Quantity::temperature, show) +
           "; the next good airing ends it";
  return "the last airing went wrong (" + airing->verdict + "); the next good airing ends it";
}

}  // namespace clutchward
