// Where a batch's eggs are: set, moved to another cabinet, split over two.
#include <cmath>

#include "base/limits.h"
#include "engine/batch_deeds.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

constexpr Span kDay = 24h;
// Nobody plans hatches further ahead; a year that was typed wrong is caught.
constexpr Span kFarthestAhead = 366 * kDay;
// The chicks of a batch set longer ago would be out for weeks: the date is a slip.
constexpr Span kLongestPast = 30 * kDay;

std::string not_an_id(const std::string& noun, const std::string& id) {
  return noun + " " + quoted(id) + " cannot be an id: 1 to 64 bytes without blanks, '/', '+', '#'";
}

// Why a new batch cannot have this id, or "".
std::string id_fault(const World& world, const std::string& id) {
  if (!valid_id(id)) return not_an_id("batch", id);
  if (home_of(world, id) != nullptr) return "batch " + quoted(id) + " is there already";
  if (world.ended_batches.contains(id))
    return "batch " + quoted(id) + " has been and ended: give a new id";
  return {};
}

// The cabinet that eggs go to, made known where it is new; or why they cannot.
Result<CabinetWatch*> room_in(World& world, const std::string& id) {
  CabinetWatch* const cabinet = cabinet_of(world, id);
  if (cabinet == nullptr) return Refusal{"max_cabinets are known already"};
  if (cabinet->batches.size() >= limits::kBatchesPerCabinet)
    return Refusal{"this cabinet holds " + std::to_string(limits::kBatchesPerCabinet) +
                   " batches already"};
  return cabinet;
}

// Eggs that came into a cabinet by hand: their stage, the machine's rules and its suppressions.
void settle_in(World& world, CabinetWatch& cabinet, BatchWatch& batch,
               std::optional<std::uint32_t> by_move) {
  if (by_move) {
    paper_of(world, batch)
        .stages.push_back({world.present.wall, batch.profile->stages[*by_move].name});
  }
  renew_turning(world, cabinet);
  restage(world, cabinet, batch, by_move.value_or(batch.stage));
  renew_suppression(world, cabinet);
  for (Slot& slot : batch.slots) follow(world, cabinet, &batch, slot);
}

}  // namespace

std::string set_at_fault(const World& world, const Profile& profile, Wall set_at) {
  const Wall now = world.present.wall;
  if (set_at > now + kFarthestAhead)
    return "set_at is " + to_rfc3339(set_at) + ", more than a year ahead; is the year right?";
  const double days = profile.hatch ? profile.hatch->to : profile.days;
  const Span life{static_cast<std::int64_t>(days * 86'400'000)};
  if (set_at < now - life - kLongestPast)
    return "set_at is " + to_rfc3339(set_at) + ": the last chicks of " + quoted(profile.id) +
           " would have come on " + to_rfc3339(set_at + life) + ", over 30 days ago";
  return {};
}

std::string stored_fault(double days) {
  if (std::isfinite(days) && days >= 0 && days <= kStoredDaysMost) return {};
  return "stored_days must be between 0 and 60: the days between laying and setting";
}

std::string eggs_text(int eggs) { return std::to_string(eggs) + (eggs == 1 ? " egg" : " eggs"); }

Reply start_batch(World& world, const Command& command) {
  if (!valid_id(command.cabinet))
    return refused(command, command.cabinet.empty() ? "which cabinet?"
                                                    : not_an_id("cabinet", command.cabinet));
  if (const auto why = id_fault(world, command.batch); !why.empty()) return refused(command, why);
  const auto profile = world.settings.profiles.find(command.profile);
  if (profile == world.settings.profiles.end()) {
    std::vector<std::string> known;
    for (const auto& [id, unused] : world.settings.profiles) known.push_back(id);
    return refused(command,
                   "no profile " + quoted(command.profile) + nearest(command.profile, known));
  }
  if (command.eggs && *command.eggs <= 0)
    return refused(command, "eggs is " + std::to_string(*command.eggs) + "; expected at least 1");
  const Wall set_at = command.set_at.value_or(world.present.wall);
  std::string why = set_at_fault(world, profile->second, set_at);
  if (why.empty() && command.stored_days) why = stored_fault(*command.stored_days);
  if (!why.empty()) return refused(command, why);
  // Only now: a refused command makes no cabinet known.
  const auto cabinet = room_in(world, command.cabinet);
  if (!cabinet) return refused(command, cabinet.why());
  auto batch = std::make_unique<BatchWatch>();
  batch->id = command.batch;
  batch->profile = &profile->second;
  batch->set_at = set_at;
  batch->eggs = command.eggs.value_or(0);
  BatchWatch& added = add_batch(world, **cabinet, std::move(batch));
  if (command.stored_days || !command.note.empty()) {
    BatchRecord& paper = paper_of(world, added);
    paper.stored_days = command.stored_days;
    paper.note = command.note;
  }
  begin_if_due(world, **cabinet, added);
  after_change(world, **cabinet);
  return {command.id, true, ""};
}

Reply move_batch(World& world, CabinetWatch& from, BatchWatch& batch, const Command& command) {
  const std::string& to_id = command.to.empty() ? command.cabinet : command.to;
  if (!valid_id(to_id)) return refused(command, "to which cabinet? " + quoted(to_id) + " is no id");
  if (to_id == from.id) return refused(command, "batch " + quoted(batch.id) + " is there already");
  // A planned batch may be given another place at any time.
  const auto at = batch.set ? time_of_deed(world, batch.set_at, true, command)
                            : Result<Wall>(world.present.wall);
  if (!at) return refused(command, at.why());
  const auto to = room_in(world, to_id);
  if (!to) return refused(command, to.why());
  std::unique_ptr<BatchWatch> moved = take_batch(world, from, batch);
  moved->turning_due = false;
  moved->kept = true;  // the configuration names another cabinet
  moved->window_open = false;
  join_recovery(world, **to, *moved);
  renew_turning(world, from);
  renew_suppression(world, from);  // the machine's rules there waited for its cooling
  BatchWatch& there = add_batch(world, **to, std::move(moved));
  if (there.set) paper_of(world, there).moves.push_back({*at, from.id, to_id, command.by});
  settle_in(world, **to, there, stage_of_move(world, there));
  after_change(world, from);
  after_change(world, **to);
  return {command.id, true, ""};
}

Reply split_batch(World& world, CabinetWatch& from, BatchWatch& batch, const Command& command) {
  if (const auto why = id_fault(world, command.new_batch); !why.empty())
    return refused(command, command.new_batch.empty() ? "new_batch is missing: the id of the eggs "
                                                        "that go"
                                                      : why);
  if (!valid_id(command.to))
    return refused(command, "to which cabinet? " + quoted(command.to) + " is no id");
  if (!command.eggs || *command.eggs <= 0)
    return refused(command, "how many eggs go? give eggs, at least 1");
  if (batch.eggs == 0)
    return refused(command, "how many eggs batch " + quoted(batch.id) +
                                " holds was never said; say it with batch_correct first");
  const int left = eggs_left(batch);
  if (*command.eggs >= left)
    return refused(command, eggs_text(*command.eggs) + " cannot be split off: batch " +
                                quoted(batch.id) + " holds " + std::to_string(left) +
                                (*command.eggs == left ? "; to take all of them, move it" : ""));
  const auto at = time_of_deed(world, batch.set_at, batch.set, command);
  if (!at) return refused(command, at.why());
  const auto to = room_in(world, command.to);
  if (!to) return refused(command, to.why());
  auto part = std::make_unique<BatchWatch>();
  part->id = command.new_batch;
  part->profile = batch.profile;
  part->set_at = batch.set_at;
  part->set_steady = batch.set_steady;
  part->eggs = *command.eggs;
  part->recovery = batch.recovery;
  if (batch.overrides) part->overrides = std::make_unique<RulePatches>(*batch.overrides);
  part->set = batch.set;
  part->stage = batch.stage;
  BatchRecord& paper = paper_of(world, batch);
  part->paper = std::make_unique<BatchRecord>();
  part->paper->split_from = batch.id;
  part->paper->stored_days = paper.stored_days;
  part->paper->stages = paper.stages;
  // Means per egg hold for the part as well; what candling took was of the whole.
  part->paper->weighings = paper.weighings;
  part->paper->eggs = part->eggs;
  batch.eggs -= part->eggs;
  paper.eggs = batch.eggs;
  paper.corrections.push_back(
      {*at, command.by, eggs_text(part->eggs) + " split off as " + part->id + " to " + command.to});
  BatchWatch& there = add_batch(world, **to, std::move(part));
  BatchRecord& new_paper = paper_of(world, there);
  const bool moves = *to != &from;
  if (moves) new_paper.moves.push_back({*at, from.id, command.to, command.by});
  settle_in(world, **to, there, moves ? stage_of_move(world, there) : std::nullopt);
  after_change(world, from);
  if (moves) after_change(world, **to);
  return {command.id, true, ""};
}

}  // namespace clutchward
