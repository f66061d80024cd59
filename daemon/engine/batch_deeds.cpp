// What is done to a batch's eggs: candled, weighed, taken out; and which command means which.
#include "engine/batch_deeds.h"

#include <algorithm>
#include <cmath>

#include "incubation/mass_loss.h"

namespace clutchward {
namespace {

// Keeps deeds told late in the order in which they were done.
template <class Deeds, class One>
void put_in(Deeds& deeds, One one) {
  const auto at = std::upper_bound(deeds.begin(), deeds.end(), one.at,
                                   [](Wall when, const auto& each) { return when < each.at; });
  deeds.insert(at, std::move(one));
}

std::string too_many(const BatchWatch& batch, int eggs, const char* what) {
  const int left = eggs_left(batch);
  if (batch.eggs == 0 || eggs <= left) return {};
  return eggs_text(eggs) + what + ", but batch " + quoted(batch.id) + " holds " +
         std::to_string(left) + " of " + std::to_string(batch.eggs) + " set";
}

EggWeighing on_the_scale(const Weighing& weighing, Wall set_at) {
  const double day = std::chrono::duration<double, std::ratio<86400>>(weighing.at - set_at).count();
  return {std::max(day, 0.0), weighing.grams, weighing.eggs};
}

// Why the weighings cannot be so, the new one among them; or "".
std::string weighings_fault(const std::vector<Weighing>& all, Wall set_at) {
  std::vector<EggWeighing> before;
  for (const Weighing& each : all) {
    const EggWeighing added = on_the_scale(each, set_at);
    if (const auto why = weighing_fault(before, added)) return why->why;
    before.push_back(added);
  }
  return {};
}

}  // namespace

Result<Wall> time_of_deed(const World& world, Wall set_at, bool set, const Command& command) {
  if (!set) return Refusal{"the batch is not set yet: that is planned for " + to_rfc3339(set_at)};
  const Wall at = command.at.value_or(world.present.wall);
  if (at > world.present.wall)
    return Refusal{"at is " + to_rfc3339(at) + ", which has not come yet"};
  if (at < set_at)
    return Refusal{"at is " + to_rfc3339(at) + ", before the eggs were set on " +
                   to_rfc3339(set_at)};
  return at;
}

Reply candle(World& world, CabinetWatch& cabinet, BatchWatch& batch, const Command& command) {
  const auto at = time_of_deed(world, batch.set_at, batch.set, command);
  if (!at) return refused(command, at.why());
  for (const Fate fate : {Fate::hatched, Fate::pipped})
    if (command.eggs_by_fate.contains(fate))
      return refused(command, "removed names " + std::string(name_of(fate)) +
                                  ": that is an outcome, for batch_end");
  if (const auto why = too_many(batch, count(command.eggs_by_fate), " removed"); !why.empty())
    return refused(command, why);
  put_in(paper_of(world, batch).candlings,
         Candling{*at, command.eggs_by_fate, command.by, command.note});
  after_change(world, cabinet);
  return {command.id, true, ""};
}

Reply weigh(World& world, CabinetWatch& cabinet, BatchWatch& batch, const Command& command) {
  const auto at = time_of_deed(world, batch.set_at, batch.set, command);
  if (!at) return refused(command, at.why());
  if (!command.grams || !std::isfinite(*command.grams) || *command.grams <= 0 ||
      *command.grams > 1e7)
    return refused(command, "how heavy are they? give grams, above 0, without the tray");
  const int eggs = command.eggs.value_or(eggs_left(batch));
  if (eggs <= 0) return refused(command, "how many eggs were weighed? give eggs, at least 1");
  if (const auto why = too_many(batch, eggs, " weighed"); !why.empty())
    return refused(command, why);
  std::vector<Weighing> all;
  if (batch.paper) all = batch.paper->weighings;
  put_in(all, Weighing{*at, *command.grams, eggs, command.by});
  if (const auto why = weighings_fault(all, batch.set_at); !why.empty() && !command.sure)
    return refused(command, why + "; if it is right all the same, say \"sure\": true");
  paper_of(world, batch).weighings = std::move(all);
  after_change(world, cabinet);
  return {command.id, true, ""};
}

Reply finish_batch(World& world, CabinetWatch& cabinet, BatchWatch& batch, const Command& command) {
  const Fates& outcome = command.eggs_by_fate;
  // A planned batch may be given up; nothing can have come of it.
  if (!batch.set && (!outcome.empty() || command.at))
    return refused(command, "batch " + quoted(batch.id) +
                                " was never set: it can be ended, without an outcome");
  const auto at = batch.set ? time_of_deed(world, batch.set_at, true, command)
                            : Result<Wall>(world.present.wall);
  if (!at) return refused(command, at.why());
  if (const auto why = too_many(batch, count(outcome), " in the outcome"); !why.empty())
    return refused(command, why);
  BatchRecord& paper = paper_of(world, batch);
  paper.ended_at = *at;
  paper.ended_by = command.by;
  paper.outcome = outcome;
  if (!command.note.empty()) paper.note = command.note;
  end_batch(world, cabinet, batch);
  after_change(world, cabinet);
  return {command.id, true, ""};
}

bool is_of_batch(Deed deed) {
  switch (deed) {
    case Deed::batch_start:
    case Deed::batch_move:
    case Deed::batch_end:
    case Deed::batch_split:
    case Deed::batch_correct:
    case Deed::candled:
    case Deed::weighed:
      return true;
    default:
      return false;
  }
}

Reply on_batch(World& world, const Command& command) {
  if (command.deed == Deed::batch_start) return start_batch(world, command);
  if (command.batch.empty()) return refused(command, "which batch?");
  const auto done = world.finished.find(command.batch);
  if (done != world.finished.end() && command.deed == Deed::batch_correct)
    return correct_finished(world, *done->second, command);
  CabinetWatch* const home = home_of(world, command.batch);
  if (home == nullptr) {
    if (world.ended_batches.contains(command.batch))
      return refused(command, "batch " + quoted(command.batch) + " has ended" +
                                  (command.deed == Deed::batch_correct
                                       ? ", and so many after it that its record is closed"
                                       : ""));
    return refused(command,
                   "no batch " + quoted(command.batch) + nearest(command.batch, batch_ids(world)));
  }
  CabinetWatch& cabinet = *home;
  BatchWatch& batch = *find_batch(cabinet, command.batch);
  // Of a move or a split the cabinet may be where the eggs go.
  if (!command.cabinet.empty() && command.cabinet != cabinet.id &&
      command.deed != Deed::batch_move && command.deed != Deed::batch_split)
    return refused(command, "batch " + quoted(batch.id) + " is in cabinet " + quoted(cabinet.id) +
                                ", not in " + quoted(command.cabinet));
  if (command.deed == Deed::batch_correct) return correct_batch(world, cabinet, batch, command);
  if (batch.ended)
    return refused(command, "batch " + quoted(batch.id) + " has ended" +
                                (command.deed == Deed::batch_end ? " already" : ""));
  switch (command.deed) {
    case Deed::batch_move:
      return move_batch(world, cabinet, batch, command);
    case Deed::batch_split:
      return split_batch(world, cabinet, batch, command);
    case Deed::candled:
      return candle(world, cabinet, batch, command);
    case Deed::weighed:
      return weigh(world, cabinet, batch, command);
    default:
      return finish_batch(world, cabinet, batch, command);
  }
}

}  // namespace clutchward
