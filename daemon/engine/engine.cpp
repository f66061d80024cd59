// The engine's door: brings each input to its time and hands it to the part that knows what it
// means.
#include "engine/engine.h"

#include <algorithm>

#include "base/limits.h"
#include "engine/commands.h"
#include "engine/configure.h"
#include "engine/intake.h"
#include "engine/paper_state.h"
#include "engine/saved.h"
#include "engine/views.h"

namespace clutchward {

struct Engine::Parts {
  World world;
  Intake intake;

  Parts(const Settings& settings, const Zone& zone, Moment start, bool linked)
      : world(settings, zone, start, linked), intake(world) {}
};

Engine::Engine(const Settings& settings, const Zone& zone, Moment start, bool linked)
    : parts_(std::make_unique<Parts>(settings, zone, start, linked)) {}
Engine::~Engine() = default;

std::vector<std::string> Engine::restore(const std::vector<std::pair<std::string, Tree>>& kept,
                                         Wall saved_at) {
  auto findings = restore_world(parts_->world, kept, saved_at);
  parts_->intake.forget();
  return findings;
}

void Engine::begin() { begin_batches(parts_->world); }

// Brings the world to the time of an input: what was due strictly before fires first.
void Engine::reach(Moment now) {
  World& world = parts_->world;
  if (now.steady < world.present.steady) {
    now.wall += world.present.steady - now.steady;
    now.steady = world.present.steady;
  }
  // The wall clock may have been stepped since: where it stands now is where it stands for all.
  const bool trusted_now = now.wall_trusted && !world.present.wall_trusted;
  world.present.wall = now.wall - (now.steady - world.present.steady);
  world.present.wall_trusted = now.wall_trusted;
  fire_until(world, now.steady, false);
  world.present = now;
  if (trusted_now) begin_batches(world);
}

bool Engine::message(std::string_view topic, std::string_view payload, bool retained, Moment now) {
  reach(now);
  return parts_->intake.message(topic, payload, retained);
}

Reply Engine::command(const Command& command, bool retained, Moment now) {
  reach(now);
  World& world = parts_->world;
  if (retained)
    return {command.id, false,
            "a retained command is refused: it would be done at every reconnect"};
  if (!command.id.empty())
    if (const auto before = world.answered.find(command.id); before != world.answered.end())
      return before->second;
  Reply reply = carry_out(world, command);
  remember_answer(world, reply);
  return reply;
}

void Engine::link(bool up, Moment now) {
  reach(now);
  World& world = parts_->world;
  if (world.linked == up) return;
  link_changed(world, up);
  for (CabinetWatch* cabinet : in_order(world)) {
    visit(*cabinet, [&](BatchWatch*, Slot& slot) {
      // After the connection came back, silence is no news until the rule's time has passed anew.
      slot.broker_hold = slot.rule->kind == RuleKind::silent ||
                         slot.rule->kind == RuleKind::turning ||
                         slot.rule->kind == RuleKind::all_silent;
    });
    renew_suppression(world, *cabinet);
    if (cabinet->id.empty())
      for (Slot& slot : cabinet->slots) follow(world, *cabinet, nullptr, slot);
    reschedule(world, *cabinet);
  }
}

void Engine::configure(const Settings& settings, const Zone& zone, Moment now) {
  reach(now);
  parts_->intake.forget();
  reconfigure(parts_->world, settings, zone);
}

void Engine::settle(Moment now) {
  reach(now);
  fire_until(parts_->world, parts_->world.present.steady, true);
}

std::optional<Steady> Engine::next_deadline() const {
  return clutchward::next_deadline(parts_->world);
}
Moment Engine::present() const { return parts_->world.present; }

bool Engine::has_output() const {
  const World& world = parts_->world;
  return !world.events.empty() || !world.dirty_states.empty() || !world.changes.empty() ||
         !world.dirty_papers.empty();
}

std::vector<AlarmEvent> Engine::take_events() { return std::exchange(parts_->world.events, {}); }
std::vector<std::string> Engine::take_attending_ended() {
  return std::exchange(parts_->world.attending_ended, {});
}
std::vector<TestRequest> Engine::take_tests() { return std::exchange(parts_->world.tests, {}); }
std::vector<std::string> Engine::take_news() { return std::exchange(parts_->world.news, {}); }
std::vector<std::string> Engine::take_notes() { return std::exchange(parts_->world.notes, {}); }

void Engine::keep_minutes(bool on) {
  World& world = parts_->world;
  world.keep_minutes = on;
  if (on) return;
  for (auto& cabinet : world.cabinets) {
    cabinet->minutes = MinuteBook{};
    for (Probe& probe : cabinet->probes) probe.minute = MinuteSum{};
  }
  world.open_minutes.clear();
  world.minutes.clear();
}

std::vector<MinuteMean> Engine::minutes_so_far(const std::string& cabinet) const {
  const CabinetWatch* const found = find_cabinet(parts_->world, cabinet);
  return found == nullptr ? std::vector<MinuteMean>()
                          : clutchward::minutes_so_far(parts_->world, *found);
}

std::vector<MinuteMean> Engine::take_minutes(bool running_too) {
  close_minutes(parts_->world, running_too);
  return std::exchange(parts_->world.minutes, {});
}

std::vector<Change> Engine::take_changes() {
  World& world = parts_->world;
  for (const std::uint32_t index : world.dirty_states) {
    CabinetWatch& cabinet = *world.cabinets[index];
    cabinet.state_dirty = false;
    keep_cabinet(world, cabinet);
  }
  world.dirty_states.clear();
  for (const std::string& id : world.dirty_papers) {
    if (const auto done = world.finished.find(id); done != world.finished.end())
      world.changes.push_back({"records/" + id, save_record(*done->second)});
    else if (const BatchWatch* batch = batch_named(world, id); batch != nullptr && batch->paper)
      world.changes.push_back({"records/" + id, save_record(*batch->paper)});
  }
  world.dirty_papers.clear();
  return std::exchange(world.changes, {});
}

std::vector<std::string> Engine::take_dirty_cabinets(std::size_t most) {
  World& world = parts_->world;
  std::vector<std::uint32_t>& dirty = world.dirty_pictures;
  const auto end = dirty.begin() + static_cast<std::ptrdiff_t>(std::min(most, dirty.size()));
  std::vector<std::string> ids;
  for (auto index = dirty.begin(); index != end; ++index) {
    world.cabinets[*index]->picture_dirty = false;
    ids.push_back(world.cabinets[*index]->id);
  }
  dirty.erase(dirty.begin(), end);
  return ids;
}

bool Engine::has_dirty_cabinets() const { return !parts_->world.dirty_pictures.empty(); }

void Engine::show_all() {
  for (auto& cabinet : parts_->world.cabinets) show(parts_->world, *cabinet);
}

std::vector<std::string> Engine::take_changed_records() {
  const auto ids = std::exchange(parts_->world.changed_records, {});
  return {ids.begin(), ids.end()};
}

void Engine::record_is_kept(const std::string& batch) {
  World& world = parts_->world;
  if (!world.finished.contains(batch)) return;
  world.in_history.insert(batch);
  let_records_go(world);
}

std::optional<BatchRecord> Engine::record(const std::string& batch) const {
  return record_of(parts_->world, batch);
}

std::vector<std::string> Engine::records() const {
  std::vector<std::string> ids = batch_ids(parts_->world);
  for (const auto& [id, unused] : parts_->world.finished) ids.push_back(id);
  std::sort(ids.begin(), ids.end());
  return ids;
}

std::optional<Profile> Engine::profile_of(const std::string& batch) const {
  const World& world = parts_->world;
  if (const BatchWatch* found = batch_named(world, batch)) return *found->profile;
  const auto done = world.finished.find(batch);
  if (done == world.finished.end()) return std::nullopt;
  const auto profile = world.settings.profiles.find(done->second->profile);
  return profile == world.settings.profiles.end() ? std::nullopt : std::optional(profile->second);
}

std::optional<AlarmView> Engine::find(const AlarmKey& key) const {
  World& world = parts_->world;
  CabinetWatch* cabinet = key.cabinet.empty() ? &world.site() : find_cabinet(world, key.cabinet);
  // A batch that moved took its alarms with it.
  if (!key.batch.empty())
    if (CabinetWatch* const home = home_of(world, key.batch)) cabinet = home;
  if (cabinet == nullptr) return std::nullopt;
  std::optional<AlarmView> found;
  visit(*cabinet, [&](BatchWatch* batch, Slot& slot) {
    if (slot.rule->id == key.alarm && (batch != nullptr ? batch->id : "") == key.batch)
      found = view_of(world, *cabinet, batch, slot);
  });
  return found;
}

std::vector<AlarmView> Engine::of_cabinet(const std::string& id) const {
  World& world = parts_->world;
  CabinetWatch* cabinet = id.empty() ? &world.site() : find_cabinet(world, id);
  std::vector<AlarmView> views;
  if (cabinet == nullptr) return views;
  visit(*cabinet, [&](BatchWatch* batch, Slot& slot) {
    if (slot.life) views.push_back(view_of(world, *cabinet, batch, slot));
  });
  return views;
}

std::optional<CabinetView> Engine::view(const std::string& id) const {
  const CabinetWatch* cabinet = find_cabinet(parts_->world, id);
  if (cabinet == nullptr) return std::nullopt;
  return view_of(parts_->world, *cabinet);
}

std::vector<std::string> Engine::cabinets() const {
  std::vector<std::string> ids;
  for (const auto& cabinet : parts_->world.cabinets)
    if (!cabinet->id.empty()) ids.push_back(cabinet->id);
  std::sort(ids.begin(), ids.end());
  return ids;
}

namespace {

template <class Make>
auto some_of(const World& world, std::size_t from, std::size_t most, const Make& make) {
  std::vector<decltype(make(*world.cabinets.front()))> made;
  // The first is the site itself.
  for (std::size_t i = from + 1; i < world.cabinets.size() && made.size() < most; ++i)
    made.push_back(make(*world.cabinets[i]));
  return made;
}

}  // namespace

std::vector<CabinetBrief> Engine::briefs(std::size_t from, std::size_t most) const {
  const World& world = parts_->world;
  return some_of(world, from, most,
                 [&](const CabinetWatch& each) { return brief_of(world, each); });
}

std::vector<CabinetView> Engine::views(std::size_t from, std::size_t most) const {
  const World& world = parts_->world;
  return some_of(world, from, most, [&](const CabinetWatch& each) { return view_of(world, each); });
}

std::vector<RuleInForce> Engine::rules_of(const std::string& id) const {
  const CabinetWatch* cabinet = find_cabinet(parts_->world, id);
  if (cabinet == nullptr) return {};
  return rules_in_force(parts_->world, *cabinet);
}

std::vector<std::pair<std::string, std::string>> Engine::profiles() const {
  std::vector<std::pair<std::string, std::string>> all;
  for (const auto& [id, profile] : parts_->world.settings.profiles)
    all.emplace_back(id, profile.name.empty() ? id : profile.name);
  std::sort(all.begin(), all.end(),
            [](const auto& a, const auto& b) { return a.second < b.second; });
  return all;
}

IntakeCounts Engine::counts() const {
  const Intake& intake = parts_->intake;
  IntakeCounts counts{intake.accepted(), {}, intake.turned_away(), intake.last_rejected()};
  for (std::size_t i = 0; i < kRejections; ++i) {
    const auto why = static_cast<Rejection>(i);
    counts.rejected.emplace_back(name_of(why), intake.rejected(why));
  }
  return counts;
}

void Engine::keep_readings() {
  for (auto& cabinet : parts_->world.cabinets) {
    cabinet->kept = true;
    touch(parts_->world, *cabinet);
  }
}

void Engine::keep_readings_of_alarms() {
  for (auto& cabinet : parts_->world.cabinets)
    if (something_stands(*cabinet)) touch(parts_->world, *cabinet);
}

}  // namespace clutchward
