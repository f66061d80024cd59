// Binding the running world to a configuration, new or first.
#include "engine/configure.h"

#include <algorithm>

#include "base/limits.h"
#include "engine/batch_deeds.h"

namespace clutchward {
namespace {

void start_from_settings(World& world, const BatchSettings& from) {
  CabinetWatch* cabinet = cabinet_of(world, from.cabinet);
  const auto profile = world.settings.profiles.find(from.profile);
  if (cabinet == nullptr || profile == world.settings.profiles.end()) return;
  auto batch = std::make_unique<BatchWatch>();
  batch->id = from.id;
  batch->profile = &profile->second;
  batch->set_at = from.set_at;
  batch->eggs = from.eggs;
  batch->recovery = from.recovery;
  if (!from.rules.empty()) batch->overrides = std::make_unique<RulePatches>(from.rules);
  batch->from_settings = true;
  BatchWatch& added = add_batch(world, *cabinet, std::move(batch));
  if (from.stored_days) paper_of(world, added).stored_days = from.stored_days;
  const std::string why =
      world.present.wall_trusted ? set_at_fault(world, profile->second, from.set_at) : "";
  if (!why.empty())
    world.notes.push_back("batch " + from.id + " of the configuration is watched, but its " + why);
  touch(world, *cabinet);
}

const BatchSettings* settings_of(const World& world, const std::string& id) {
  for (const BatchSettings& batch : world.settings.batches)
    if (batch.id == id) return &batch;
  return nullptr;
}

// Profiles live in the settings that are about to go: each batch finds its own in the new ones, or
// ends with a note.
void rebind_batch(World& world, CabinetWatch& cabinet, BatchWatch& batch,
                  const std::string& profile_id) {
  const BatchSettings* from = settings_of(world, batch.id);
  const auto profile = world.settings.profiles.find(from != nullptr ? from->profile : profile_id);
  batch.profile = &profile->second;
  batch.stage = std::min<std::uint32_t>(
      batch.stage, static_cast<std::uint32_t>(batch.profile->stages.size() - 1));
  if (batch.ended) return;
  if (from != nullptr) {
    // What a person put right after the fact holds against the configuration.
    batch.eggs = batch.paper && batch.paper->eggs > 0 ? batch.paper->eggs : from->eggs;
    if (from->stored_days && !(batch.paper && batch.paper->stored_days))
      paper_of(world, batch).stored_days = from->stored_days;
    batch.recovery = from->recovery;
    batch.overrides = from->rules.empty() ? nullptr : std::make_unique<RulePatches>(from->rules);
    batch.from_settings = true;
    if (!batch.set) batch.set_at = from->set_at;
  } else if (batch.from_settings) {
    world.news.push_back("batch " + batch.id + " in " + cabinet.id +
                         " is no longer in the configuration: it has ended and is not watched");
    end_batch(world, cabinet, batch);
    return;
  }
  if (!batch.set) return;
  const bool was_open = batch.window_open;
  batch.window_open = false;
  find_window(world, batch);
  if (was_open && !batch.window_open) close_window(world, cabinet, batch);
  bind_airing(world, batch);
  if (batch.window_open) begin_airing(world, cabinet, batch);
  bind_stage(world, cabinet, batch);
}

}  // namespace

void begin_batches(World& world) {
  for (const BatchSettings& from : world.settings.batches) {
    if (home_of(world, from.id) == nullptr && !world.ended_batches.contains(from.id))
      start_from_settings(world, from);
    else if (world.ended_batches.contains(from.id))
      world.notes.push_back("batch " + from.id +
                            " of the configuration has ended and is not watched: take it out, or "
                            "give eggs that are there a new id");
  }
  // All are known now, under their cabinets; `= {}` would keep the room that they took.
  world.settings.batches = std::vector<BatchSettings>();
  for (CabinetWatch* cabinet : in_order(world)) {
    for (auto& batch : cabinet->batches) begin_if_due(world, *cabinet, *batch);
    reschedule(world, *cabinet);
  }
}

void reconfigure(World& world, const Settings& settings, const Zone& zone) {
  // The old settings and book stay until nothing points into them.
  const Settings old_settings = std::move(world.settings);
  std::map<std::string, std::string> profile_ids;
  for (auto& cabinet : world.cabinets)
    for (auto& batch : cabinet->batches) {
      profile_ids[batch->id] = batch->profile->id;
    }
  world.settings = settings;
  world.zone = zone;
  // A batch whose profile the new configuration lacks goes on with the old one.
  for (const auto& [batch, profile] : profile_ids)
    if (!world.settings.profiles.contains(profile)) {
      const auto found = old_settings.profiles.find(profile);
      if (found != old_settings.profiles.end()) {
        world.settings.profiles.insert(*found);
        world.news.push_back("profile " + profile + " is no longer in the configuration: batch " +
                             batch + " goes on with it as it was");
      }
    }
  world.old_book = std::move(world.book);
  world.book = std::make_unique<RuleBook>(world.settings);
  for (const auto& [id, unused] : world.settings.cabinets) cabinet_of(world, id);
  for (CabinetWatch* cabinet : in_order(world)) {
    bind_cabinet(world, *cabinet);
    if (!cabinet->kept) touch(world, *cabinet);  // it may stand in the configuration no more
    renew_turning(world, *cabinet);
    bind_machine_rules(world, *cabinet);
    for (auto& batch : cabinet->batches)
      rebind_batch(world, *cabinet, *batch, profile_ids[batch->id]);
    renew_suppression(world, *cabinet);
    drop_finished(world, *cabinet);
  }
  world.old_book.reset();
  begin_batches(world);
}

void remember_answer(World& world, const Reply& reply) {
  if (reply.id.empty()) return;
  world.answered[reply.id] = reply;
  world.answered_order.push_back(reply.id);
  Tree tree = Tree::map();
  tree.add("ok", reply.ok ? "true" : "false");
  if (!reply.why.empty()) tree.add("why", reply.why);
  tree.add("at", to_rfc3339(world.present.wall));
  world.changes.push_back({"commands/" + reply.id, std::move(tree)});
  if (world.answered_order.size() <= limits::kCommandIds) return;
  world.changes.push_back({"commands/" + world.answered_order.front(), std::nullopt});
  world.answered.erase(world.answered_order.front());
  world.answered_order.pop_front();
}

void load_answers(World& world, const std::vector<std::pair<std::string, Tree>>& kept) {
  std::vector<std::pair<std::string, Reply>> found;  // by time
  for (const auto& [key, tree] : kept)
    if (key.starts_with("commands/")) {
      const std::string id = key.substr(9);
      found.emplace_back(std::string(tree.get("at")),
                         Reply{id, tree.get("ok") == "true", std::string(tree.get("why"))});
    }
  std::stable_sort(found.begin(), found.end(),
                   [](const auto& a, const auto& b) { return a.first < b.first; });
  for (auto& [at, reply] : found) {
    world.answered_order.push_back(reply.id);
    world.answered[reply.id] = std::move(reply);
  }
}

}  // namespace clutchward
