// Trees of text back into the world. Each instant is placed on the steady clock by the wall clock
// where that is trusted, else by what was left of it at the last save.
#include <algorithm>
#include <charconv>

#include "engine/configure.h"
#include "engine/paper_state.h"
#include "engine/saved.h"

namespace clutchward {
namespace {

class Reader {
 public:
  Reader(const World& world, const Tree& tree, Wall saved_at)
      : world_(world), tree_(tree), saved_at_(saved_at) {}

  bool flag(const char* key) const { return tree_.get(key) == "true"; }
  std::string text(const char* key) const { return std::string(tree_.get(key)); }
  std::int64_t number(const char* key) const {
    const std::string_view value = tree_.get(key);
    std::int64_t number = 0;
    std::from_chars(value.data(), value.data() + value.size(), number);
    return number;
  }
  std::optional<Milli> milli(const char* key) const {
    const std::string_view value = tree_.get(key);
    double number = 0;
    const auto end = std::from_chars(value.data(), value.data() + value.size(), number);
    if (value.empty() || end.ec != std::errc() || !(number > -2e6 && number < 2e6))
      return std::nullopt;
    return static_cast<Milli>(number * 1000 + (number < 0 ? -0.5 : 0.5));
  }
  std::optional<Wall> wall(const char* key) const { return parse_rfc3339(tree_.get(key)); }
  // The wall time that is "now" for what was kept.
  Wall now() const { return world_.present.wall_trusted ? world_.present.wall : saved_at_; }
  Steady time(const char* key, Steady otherwise = kNever) const {
    const auto at = wall(key);
    return at ? world_.present.steady + (*at - now()) : otherwise;
  }
  std::optional<Span> span(const char* key) const { return parse_span(tree_.get(key)); }
  const Tree* tree(const char* key) const { return tree_.find(key); }
  Reader inside(const Tree& tree) const { return {world_, tree, saved_at_}; }

 private:
  const World& world_;
  const Tree& tree_;
  Wall saved_at_;
};

std::unique_ptr<Life> load_life(const Reader& in) {
  auto life = std::make_unique<Life>();
  life->condition = in.flag("condition");
  life->active = in.flag("active");
  life->acknowledged = in.flag("acknowledged");
  life->latched = in.flag("latched");
  life->open = in.flag("open") || life->active || life->latched;
  life->awaiting_value = in.flag("awaiting_value");
  life->condition_from = in.time("condition_from");
  life->true_since = in.time("true_since");
  life->due = in.time("due");
  life->held = in.span("held");
  life->returns = in.time("returns");
  life->snoozed_until = in.time("snoozed_until");
  life->holds_until = in.time("holds_until");
  life->condition_ends = in.time("condition_ends");
  life->raised_at = in.time("raised_at");
  life->returned_at = in.time("returned_at");
  life->episode = in.number("episode");
  life->acknowledged_at = in.time("acknowledged_at");
  life->reference = in.milli("reference");
  life->worst = in.milli("worst");
  life->pending_worst = in.milli("pending_worst");
  life->acknowledged_by = in.text("acknowledged_by");
  life->snoozed_by = in.text("snoozed_by");
  if (const Tree* out = in.tree("out_of_service")) {
    const Reader inner = in.inside(*out);
    life->out_of_service = std::make_unique<OutOfService>(
        OutOfService{inner.text("by"), inner.text("why"), inner.time("until", Steady{})});
  }
  return life;
}

Rule former_rule(const std::string& id, const Reader& in) {
  Rule rule;
  rule.id = id;
  for (std::size_t i = 0; i < kRuleKindNames.size(); ++i)
    if (kRuleKindNames[i] == in.text("kind")) rule.kind = static_cast<RuleKind>(i);
  for (const Priority priority : {Priority::low, Priority::medium, Priority::high})
    if (name_of(priority) == in.text("priority")) rule.priority = priority;
  rule.quantity = quantity_named(in.text("quantity")).value_or(Quantity::temperature);
  rule.limit = in.milli("limit");
  rule.offset = in.milli("offset");
  rule.early.signal = in.text("signal");
  return rule;
}

void load_slots(const Reader& in, Slots& slots, std::forward_list<Rule>& formers) {
  for (Slot& slot : slots) {
    slot.warming = slot.suppressed = false;
    slot.life.reset();  // what binding began is judged again, and told, by the state's own clock
  }
  const Tree* alarms = in.tree("alarms");
  if (alarms == nullptr) return;
  for (const auto& [id, tree] : alarms->members) {
    const Reader each = in.inside(tree);
    auto at = std::lower_bound(
        slots.begin(), slots.end(), id,
        [](const Slot& slot, const std::string& key) { return slot.rule->id < key; });
    auto life = load_life(each);
    if (at == slots.end() || at->rule->id != id) {
      // Its rule is not in force now: what a person has still to answer or has said is kept.
      life->condition = false;
      if (life->normal()) continue;
      Slot slot;
      slot.rule = &formers.emplace_front(former_rule(id, each));
      slot.former = true;
      at = slots.insert(at, std::move(slot));
    }
    at->warming = each.flag("warming") && !at->former;
    at->limit_held = false;
    if (const Steady since = each.time("limit_held_since"); since != kNever)
      at->hold_limit_since(since);
    at->suppressed = each.flag("suppressed") && !at->former;
    if (!life->normal()) at->life = std::move(life);
  }
}

void load_seen(const Reader& in, Seen& seen) {
  seen.known = true;
  seen.last = in.time("last", Steady{});
  seen.fresh = {in.milli("above").value_or(0), in.milli("below").value_or(0)};
  seen.with_silent = {in.milli("above_with_silent").value_or(seen.fresh.above),
                      in.milli("below_with_silent").value_or(seen.fresh.below)};
  seen.hottest = in.milli("hottest").value_or(seen.fresh.above);
  seen.coldest = in.milli("coldest").value_or(seen.fresh.below);
  seen.hottest_with_silent = in.milli("hottest_with_silent").value_or(seen.hottest);
  seen.fresh_probes = static_cast<std::uint8_t>(in.number("probes"));
}

std::unique_ptr<Airing> load_airing(const Reader& in) {
  auto airing = std::make_unique<Airing>();
  airing->running = in.flag("running");
  airing->judged = !in.flag("followed");
  airing->bad = in.flag("bad");
  airing->fell = in.flag("fell");
  airing->began = in.time("began");
  airing->ended = in.time("ended");
  airing->before = in.milli("before");
  airing->lowest = in.milli("lowest");
  airing->at_end = in.milli("at_end");
  airing->risen = !in.flag("cold") || !airing->at_end;
  airing->verdict = in.text("verdict");
  airing->last = in.wall("last");
  airing->next_due = in.wall("next_due").value_or(Wall::max());
  return airing;
}

// Pieces that fall into one on the new clock are one.
void load_means(const Reader& in, CabinetWatch& cabinet, const World& world) {
  const Tree* means = in.tree("means");
  if (means == nullptr) return;
  cabinet.make_seldom().means = std::make_unique<std::vector<Mean>>();
  for (const auto& [unused, tree] : means->members) {
    const Reader each = in.inside(tree);
    Mean mean;
    const auto quantity = quantity_named(each.text("quantity"));
    const auto window = each.span("window");
    if (!quantity || !window || *window <= Span{0}) continue;
    mean.quantity = *quantity;
    mean.below = each.flag("below");
    mean.window = *window;
    if (const Tree* pieces = each.tree("pieces"))
      for (const auto& [none, piece] : pieces->members) {
        const std::string text = piece.text;
        const auto first = text.find(' ');
        const auto last = text.rfind(' ');
        if (first == std::string::npos || last == first) continue;
        const auto at = parse_rfc3339(std::string_view(text).substr(0, first));
        Mean::Piece kept;
        std::from_chars(text.data() + first + 1, text.data() + last, kept.sum);
        std::from_chars(text.data() + last + 1, text.data() + text.size(), kept.count);
        if (!at || kept.count <= 0) continue;
        const Steady when = world.present.steady + (*at - each.now());
        kept.number = when.time_since_epoch() / piece_of(mean);
        if (!mean.pieces.empty() && kept.number <= mean.pieces.back().number) {
          mean.pieces.back().sum += kept.sum;
          mean.pieces.back().count += kept.count;
        } else {
          mean.pieces.push_back(kept);
        }
      }
    renew_mean(mean, world.present.steady);
    cabinet.seldom().means->push_back(std::move(mean));
  }
}

void load_probes(World& world, const Reader& in, CabinetWatch& cabinet) {
  const Tree* probes = in.tree("probes");
  if (probes == nullptr) return;
  for (const auto& [unused, tree] : probes->members) {
    const Reader each = in.inside(tree);
    const auto quantity = quantity_named(tree.get("quantity", "temperature"));
    const auto value = each.milli("value");
    if (!quantity || !value || !valid_id(tree.get("probe"))) continue;
    const auto place = probe_of(world, cabinet, each.text("probe"), *quantity);
    if (!place) continue;
    Probe& probe = cabinet.probes[*place];
    probe.value = *value;
    probe.at = each.time("at");
    probe.heard = probe.at != kNever;
    probe.retained = !probe.heard;
  }
}

void load_turner(const Reader& in, CabinetWatch& cabinet) {
  TurnerWatch turner;
  turner.runs = in.flag("turner_runs");
  const std::string side = in.text("side");
  turner.side = side == "left" ? -1 : side == "right" ? 1 : 0;
  turner.side_at = in.time("side_at");
  if (turner.runs || turner.side != 0)
    cabinet.make_seldom().turner = std::make_unique<TurnerWatch>(turner);
}

void load_cabinet(World& world, CabinetWatch& cabinet, const Reader& in) {
  cabinet.kept = true;
  cabinet.known_at = in.time("known_at", world.present.steady);
  if (in.wall("last_turn")) cabinet.last_turn = in.time("last_turn");
  cabinet.machine_turns = in.flag("machine_turns");
  load_turner(in, cabinet);
  cabinet.cooling_reported = in.flag("cooling_reported");
  if (in.tree("hand_cools_until") != nullptr)
    cabinet.make_seldom().hand_cools_until = in.time("hand_cools_until");
  if (in.tree("machine_cools_until") != nullptr)
    cabinet.make_seldom().machine_cools_until = in.time("machine_cools_until");
  cabinet.cooling = cooling_ends(cabinet.seldom()) != kNever;
  if (in.tree("cooling_until") != nullptr)
    cabinet.make_seldom().cooling_until = in.time("cooling_until", Steady{});
  if (in.tree("power") != nullptr) cabinet.power = in.text("power") == "on";
  if (cabinet.power && !*cabinet.power)
    cabinet.make_seldom().power_lost_at = in.time("power_lost_at", world.present.steady);
  if (in.wall("attending_until"))
    cabinet.make_seldom().attending = std::make_unique<Attending>(
        Attending{in.time("attending_until", Steady{}), in.text("attending_by")});
  load_probes(world, in, cabinet);
  if (const Tree* seen = in.tree("temperature")) load_seen(in.inside(*seen), cabinet.temperature);
  if (const Tree* seen = in.tree("humidity"))
    load_seen(in.inside(*seen), *(cabinet.make_seldom().humidity = std::make_unique<Seen>()));
  load_means(in, cabinet, world);
  if (const Tree* trend = in.tree("trend")) {
    const Reader each = in.inside(*trend);
    const auto earlier = each.milli("earlier");
    const auto recent = each.milli("recent");
    cabinet.recent_at = each.time("recent_at");
    cabinet.trend_known = earlier && recent && cabinet.recent_at != kNever;
    if (cabinet.trend_known) cabinet.earlier = *earlier, cabinet.recent = *recent;
  }
  if (const Tree* seen = in.tree("dew_point"))
    load_seen(in.inside(*seen), *(cabinet.make_seldom().dew_point = std::make_unique<Seen>()));
  if (const Tree* seen = in.tree("wet_bulb"))
    load_seen(in.inside(*seen), *(cabinet.make_seldom().wet_bulb = std::make_unique<Seen>()));
  cabinet.computes_humidity =
      cabinet.seldom().wet_bulb != nullptr || cabinet.seldom().dew_point != nullptr;
  const Tree* early = in.tree("early");
  if (early != nullptr) load_signals(world, cabinet, *early, in.now());
  bind_machine_rules(world, cabinet);
  if (early != nullptr) load_early(world, cabinet, nullptr, *early, in.now());
  load_slots(in, cabinet.slots, cabinet.former_rules);
}

// The batch of one tree, bound to its profile; or the sentence that says why not.
std::string load_batch(World& world, const std::string& id, const Reader& in) {
  const BatchSettings* from = nullptr;
  for (const BatchSettings& each : world.settings.batches)
    if (each.id == id) from = &each;
  const std::string profile_id = from != nullptr ? from->profile : in.text("profile");
  const auto profile = world.settings.profiles.find(profile_id);
  const auto set_at = in.wall("set_at");
  if (profile == world.settings.profiles.end() || !set_at || !valid_id(in.text("cabinet")))
    return "batch " + printable(id) + ": profile \"" + printable(profile_id) +
           "\" or its other particulars are not to be had; it is not watched";
  CabinetWatch* cabinet = cabinet_of(world, in.text("cabinet"));
  if (cabinet == nullptr)
    return "batch " + printable(id) + ": past max_cabinets; it is not watched";
  auto batch = std::make_unique<BatchWatch>();
  batch->kept = true;
  batch->id = id;
  batch->profile = &profile->second;
  batch->set_at = *set_at;
  batch->set_steady = in.time("set_at");
  batch->eggs = static_cast<int>(in.number("eggs"));
  batch->from_settings = in.flag("from_settings");
  if (from != nullptr) {
    batch->eggs = from->eggs;
    batch->recovery = from->recovery;
    if (!from->rules.empty()) batch->overrides = std::make_unique<RulePatches>(from->rules);
  }
  if (const Tree* today = in.tree("turns_today"))
    if (const auto days = load_record(*today).turning; !days.empty())
      batch->today = std::make_unique<TurningDay>(days.front());
  batch->set = in.flag("set");
  batch->ended = in.flag("finished");
  batch->stage = static_cast<std::uint32_t>(std::clamp<std::int64_t>(
      in.number("stage"), 0, static_cast<std::int64_t>(batch->profile->stages.size()) - 1));
  batch->window_open = in.flag("window_open");
  batch->window_edge = in.wall("window_edge").value_or(Wall::max());
  batch->cooling_until = in.time("cooling_until", Steady{});
  if (batch->ended) world.ended_batches.insert(id);
  BatchWatch& added = add_batch(world, *cabinet, std::move(batch));
  if (const Tree* airing = in.tree("airing")) added.airing = load_airing(in.inside(*airing));
  bind_airing(world, added);
  if (added.set && !added.ended) bind_stage(world, *cabinet, added);
  if (in.wall("turning_due_since")) added.turning_due_since = in.time("turning_due_since");
  if (const Tree* early = in.tree("early")) load_early(world, *cabinet, &added, *early, in.now());
  load_slots(in, added.slots, added.former_rules);
  return {};
}

void load_paper(World& world, const std::string& id, const Tree& tree) {
  auto record = std::make_unique<BatchRecord>(load_record(tree));
  CabinetWatch* const home = home_of(world, id);
  if (home == nullptr) {
    // One that is neither watched nor ended belongs to a batch that could not be read.
    if (world.ended_batches.contains(id)) world.finished[id] = std::move(record);
    return;
  }
  BatchWatch& batch = *find_batch(*home, id);
  if (record->eggs > 0) batch.eggs = record->eggs;
  batch.paper = std::move(record);
}

// What the configuration says of a batch's eggs and nobody has said otherwise.
void fill_papers(World& world) {
  for (const BatchSettings& from : world.settings.batches) {
    CabinetWatch* const home = home_of(world, from.id);
    if (!from.stored_days || home == nullptr) continue;
    BatchWatch& batch = *find_batch(*home, from.id);
    if (!batch.ended && !(batch.paper && batch.paper->stored_days))
      paper_of(world, batch).stored_days = from.stored_days;
  }
}

bool starts_with(const std::string& key, std::string_view prefix, std::string& rest) {
  if (key.compare(0, prefix.size(), prefix) != 0) return false;
  rest = key.substr(prefix.size());
  return true;
}

}  // namespace

std::vector<std::string> restore_world(World& world,
                                       const std::vector<std::pair<std::string, Tree>>& kept,
                                       Wall saved_at) {
  std::vector<std::string> findings;
  world.saved_at = saved_at;
  std::string rest;
  for (const auto& [key, tree] : kept) {
    if (!starts_with(key, "cabinets/", rest)) continue;
    CabinetWatch* cabinet = rest.empty() ? &world.site() : nullptr;
    if (!rest.empty() && valid_id(rest)) cabinet = cabinet_of(world, rest);
    if (cabinet == nullptr)
      findings.push_back("cabinet " + printable(rest) + ": no id, or past max_cabinets; left out");
    else
      load_cabinet(world, *cabinet, {world, tree, saved_at});
  }
  for (const auto& [key, tree] : kept) {
    if (!starts_with(key, "batches/", rest)) continue;
    if (tree.get("ended") == "true") {
      world.ended_batches.insert(rest);
      continue;
    }
    const std::string why = load_batch(world, rest, {world, tree, saved_at});
    if (!why.empty()) findings.push_back(why);
  }
  for (const auto& [key, tree] : kept)
    if (starts_with(key, "records/", rest)) load_paper(world, rest, tree);
  fill_papers(world);
  load_answers(world, kept);
  // What binding told on the way was told before the state was laid over it; what a suppression
  // that ended meanwhile brings is news.
  world.events.clear();
  for (CabinetWatch* cabinet : in_order(world)) {
    // The configuration may have changed meanwhile: alarms of rules that are gone return now.
    visit(*cabinet, [&](BatchWatch* batch, Slot& slot) {
      if (!slot.former || !slot.life) return;
      const auto context = context_of(world, *cabinet, batch, slot);
      emit(world, *cabinet, batch, slot, take_out(*slot.life, context));
    });
    renew_suppression(world, *cabinet);
    drop_finished(world, *cabinet);
    reschedule(world, *cabinet);
  }
  let_records_go(world);
  world.changed_records.clear();  // nothing has changed that was not known before
  return findings;
}

}  // namespace clutchward
