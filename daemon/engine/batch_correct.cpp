// What was said wrong of a batch is put right after the fact; the record keeps by whom and when.
#include <algorithm>

#include "engine/batch_deeds.h"

namespace clutchward {
namespace {

void tell(std::string& what, const std::string& change) {
  what += (what.empty() ? "" : "; ") + change;
}

std::string eggs_or_unsaid(int eggs) { return eggs == 0 ? "unsaid" : std::to_string(eggs); }

std::string days_text(const std::optional<double>& days) {
  return days ? milli_exact(static_cast<std::int64_t>(*days * 1000 + 0.5)) : "unsaid";
}

bool says_anything(const Command& command) {
  return command.set_at || command.eggs || command.stored_days || !command.note.empty() ||
         !command.eggs_by_fate.empty();
}

// The eggs that are known to be out of it already.
int taken(const BatchRecord& record) {
  int eggs = 0;
  for (const Candling& each : record.candlings) eggs += count(each.removed);
  return eggs;
}

// What the keys of the command, but for set_at, would be wrong about; or "".
std::string keys_fault(const BatchRecord& record, const Command& command) {
  if (!says_anything(command))
    return "what is to be put right? give set_at, eggs, stored_days, outcome or note";
  if (command.eggs && *command.eggs <= 0)
    return "eggs is " + std::to_string(*command.eggs) + "; expected at least 1";
  const Fates& outcome = command.eggs_by_fate.empty() ? record.outcome : command.eggs_by_fate;
  const int eggs = command.eggs.value_or(record.eggs);
  const int out = taken(record) + count(outcome);
  if (eggs > 0 && out > eggs)
    return eggs_text(out) + " are out of batch " + quoted(record.id) +
           " by its candlings and its " + "outcome; that is more than " + std::to_string(eggs) +
           " set";
  if (!command.eggs_by_fate.empty() && !record.ended_at)
    return "the outcome of a batch that goes on cannot be put right; end it with batch_end";
  return command.stored_days ? stored_fault(*command.stored_days) : "";
}

// The same for set_at, of a batch that goes on.
std::string set_at_of_batch_fault(const World& world, const BatchWatch& batch, Wall set_at) {
  if (batch.from_settings && !batch.set)
    return "batch " + quoted(batch.id) + " is planned in the configuration; change set_at there";
  if (batch.set && set_at > world.present.wall)
    return "batch " + quoted(batch.id) + " is set already; set_at " + to_rfc3339(set_at) +
           " has not come yet";
  if (const auto why = set_at_fault(world, *batch.profile, set_at); !why.empty()) return why;
  if (!batch.paper) return {};
  std::optional<Wall> first;
  const auto look = [&](Wall at) { first = first ? std::min(*first, at) : at; };
  for (const Candling& each : batch.paper->candlings) look(each.at);
  for (const Weighing& each : batch.paper->weighings) look(each.at);
  for (const Relocation& each : batch.paper->moves) look(each.at);
  if (first && set_at > *first)
    return "set_at " + to_rfc3339(set_at) + " is after what was done with the eggs on " +
           to_rfc3339(*first);
  return {};
}

// Writes the keys into paper; answers with what has changed.
std::string write(BatchRecord& paper, int& eggs, const Command& command) {
  std::string what;
  if (command.eggs && *command.eggs != eggs) {
    tell(what, "eggs " + eggs_or_unsaid(eggs) + " -> " + std::to_string(*command.eggs));
    eggs = paper.eggs = *command.eggs;
  }
  if (command.stored_days) {
    tell(what,
         "stored days " + days_text(paper.stored_days) + " -> " + days_text(command.stored_days));
    paper.stored_days = command.stored_days;
  }
  if (!command.eggs_by_fate.empty()) {
    tell(what, "outcome " + eggs_text(count(paper.outcome)) + " -> " +
                   eggs_text(count(command.eggs_by_fate)));
    paper.outcome = command.eggs_by_fate;
  }
  if (!command.note.empty()) {
    tell(what, "note");
    paper.note = command.note;
  }
  return what;
}

// Every stage follows the new hour, but for one that a move began.
void set_anew(World& world, CabinetWatch& cabinet, BatchWatch& batch, Wall set_at) {
  batch.set_at = set_at;
  if (!batch.set) {
    begin_if_due(world, cabinet, batch);
    return;
  }
  batch.set_steady = world.steady_of(set_at);
  std::uint32_t moved = 0;
  if (batch.paper)
    for (const StageBegun& begun : batch.paper->stages)
      for (std::uint32_t i = 0; i < batch.profile->stages.size(); ++i)
        if (batch.profile->stages[i].name == begun.name) moved = std::max(moved, i);
  restage(world, cabinet, batch, moved);
}

}  // namespace

Reply correct_batch(World& world, CabinetWatch& cabinet, BatchWatch& batch,
                    const Command& command) {
  std::string why = keys_fault(record_of(world, cabinet, batch), command);
  if (why.empty() && command.set_at)
    why = batch.ended ? "batch " + quoted(batch.id) + " has ended; its set_at stays"
                      : set_at_of_batch_fault(world, batch, *command.set_at);
  if (!why.empty()) return refused(command, why);
  BatchRecord& paper = paper_of(world, batch);
  std::string what = write(paper, batch.eggs, command);
  if (command.set_at && *command.set_at != batch.set_at) {
    tell(what, "set_at " + to_rfc3339(batch.set_at) + " -> " + to_rfc3339(*command.set_at));
    set_anew(world, cabinet, batch, *command.set_at);
  }
  paper.corrections.push_back({world.present.wall, command.by, what});
  after_change(world, cabinet);
  return {command.id, true, ""};
}

Reply correct_finished(World& world, BatchRecord& record, const Command& command) {
  std::string why = keys_fault(record, command);
  if (why.empty() && command.set_at)
    why = "batch " + quoted(record.id) + " has ended; its set_at stays";
  if (!why.empty()) return refused(command, why);
  const std::string what = write(record, record.eggs, command);
  record.corrections.push_back({world.present.wall, command.by, what});
  world.dirty_papers.insert(record.id);
  record_changed(world, record.id);
  return {command.id, true, ""};
}

}  // namespace clutchward
