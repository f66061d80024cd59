// The world as trees of text. Every instant is kept as wall time, and only what differs from
// normal.
#include <algorithm>
#include <initializer_list>

#include "engine/paper_state.h"
#include "engine/saved.h"

namespace clutchward {
namespace {

class Writer {
 public:
  explicit Writer(const World& world) : world_(world) {}

  void text(const char* key, const std::string& value) {
    if (!value.empty()) tree_.add(key, value);
  }
  void flag(const char* key, bool value) {
    if (value) tree_.add(key, "true");
  }
  void number(const char* key, std::int64_t value) { tree_.add(key, std::to_string(value)); }
  void milli(const char* key, std::optional<Milli> value) {
    if (value) tree_.add(key, milli_exact(*value));
  }
  void time(const char* key, Steady value) {
    if (value != kNever) tree_.add(key, to_rfc3339(world_.wall_of(value)));
  }
  void wall(const char* key, Wall value) { tree_.add(key, to_rfc3339(value)); }
  void span(const char* key, std::optional<Span> value) {
    if (value) tree_.add(key, to_text(*value));
  }
  void tree(const char* key, Tree value) {
    if (!value.members.empty()) tree_.add(key, std::move(value));
  }
  Tree take() { return std::move(tree_); }

 private:
  const World& world_;
  Tree tree_ = Tree::map();
};

Tree save_life(const World& world, const Life& life) {
  Writer out(world);
  out.flag("condition", life.condition);
  out.flag("active", life.active);
  out.flag("acknowledged", life.acknowledged);
  out.flag("latched", life.latched);
  out.flag("open", life.open);
  out.flag("awaiting_value", life.awaiting_value);
  if (life.condition || life.active) {  // `since` is told until the alarm has returned
    out.time("condition_from", life.condition_from);
    out.time("true_since", life.true_since);
  }
  out.time("due", life.due);
  out.span("held", life.held);
  out.time("returns", life.returns);
  out.time("snoozed_until", life.snoozed_until);
  out.time("holds_until", life.holds_until);
  out.time("condition_ends", life.condition_ends);
  if (life.open) {
    out.time("raised_at", life.raised_at);
    out.time("returned_at", life.returned_at);
    out.number("episode", life.episode);
  }
  if (life.acknowledged) out.time("acknowledged_at", life.acknowledged_at);
  out.milli("reference", life.reference);
  out.milli("worst", life.worst);
  out.milli("pending_worst", life.pending_worst);
  out.text("acknowledged_by", life.acknowledged_by);
  out.text("snoozed_by", life.snoozed_by);
  if (life.out_of_service) {
    Writer inner(world);
    inner.text("by", life.out_of_service->by);
    inner.text("why", life.out_of_service->why);
    inner.time("until", life.out_of_service->until);
    out.tree("out_of_service", inner.take());
  }
  return out.take();
}

Tree save_slots(const World& world, const Slots& slots) {
  Tree all = Tree::map();
  for (const Slot& slot : slots) {
    if (!slot.life && !slot.warming) continue;
    Tree tree = slot.life ? save_life(world, *slot.life) : Tree::map();
    Writer more(world);
    more.flag("warming", slot.warming);
    if (slot.limit_held) more.time("limit_held_since", slot.limit_held_since());
    more.flag("suppressed", slot.suppressed);
    // Its rule may stand nowhere else by the time it is read.
    if (slot.former || (slot.life && slot.life->open)) {
      more.flag("former", slot.former);
      more.text("kind", std::string(name_of(slot.rule->kind)));
      more.text("priority", std::string(name_of(slot.rule->priority)));
      more.text("quantity", std::string(name_of(slot.rule->quantity)));
      more.milli("limit", slot.rule->limit);
      more.milli("offset", slot.rule->offset);
      more.text("signal", slot.rule->early.signal);
    }
    for (auto& [key, value] : more.take().members) tree.add(key, std::move(value));
    if (!tree.members.empty()) all.add(slot.rule->id, std::move(tree));
  }
  return all;
}

Tree save_seen(const World& world, const Seen& seen) {
  Writer out(world);
  out.time("last", seen.last);
  out.milli("above", seen.fresh.above);
  out.milli("below", seen.fresh.below);
  out.milli("above_with_silent", seen.with_silent.above);
  out.milli("below_with_silent", seen.with_silent.below);
  out.milli("hottest", seen.hottest);
  out.milli("coldest", seen.coldest);
  out.milli("hottest_with_silent", seen.hottest_with_silent);
  out.number("probes", seen.fresh_probes);
  return out.take();
}

// A piece of time as "2026-03-01T08:00:00.000Z 37500 3": its beginning, the mean, how many.
Tree save_means(const World& world, const std::vector<Mean>& means) {
  Tree all = Tree::list();
  for (const Mean& mean : means) {
    Writer out(world);
    out.text("quantity", std::string(name_of(mean.quantity)));
    out.flag("below", mean.below);
    out.span("window", mean.window);
    Tree pieces = Tree::list();
    for (const Mean::Piece& piece : mean.pieces) {
      const Steady at{piece.number * piece_of(mean)};
      pieces.add(Tree(to_rfc3339(world.wall_of(at)) + " " + std::to_string(piece.sum) + " " +
                      std::to_string(piece.count)));
    }
    out.tree("pieces", std::move(pieces));
    all.add(out.take());
  }
  return all;
}

Tree save_airing(const World& world, const Airing& airing) {
  Writer out(world);
  out.flag("running", airing.running);
  out.flag("followed", !airing.judged);
  out.flag("bad", airing.bad);
  out.flag("cold", !airing.risen);
  out.flag("fell", airing.fell);
  if (airing.running || !airing.judged || !airing.risen || airing.bad) {
    out.time("began", airing.began);
    out.time("ended", airing.ended);
    out.milli("before", airing.before);
    out.milli("lowest", airing.lowest);
    out.milli("at_end", airing.at_end);
  }
  out.text("verdict", airing.verdict);
  if (airing.last) out.wall("last", *airing.last);
  if (airing.next_due != Wall::max()) out.wall("next_due", airing.next_due);
  return out.take();
}

Tree save_today(const TurningDay& day) {
  BatchRecord record;
  record.turning = {day};
  return save_record(record);
}

}  // namespace

Tree save_cabinet(const World& world, const CabinetWatch& cabinet) {
  Writer out(world);
  out.time("known_at", cabinet.known_at);
  if (cabinet.last_turn) out.time("last_turn", *cabinet.last_turn);
  out.flag("machine_turns", cabinet.machine_turns);
  if (const TurnerWatch* turner = cabinet.seldom().turner.get()) {
    out.flag("turner_runs", turner->runs);
    if (turner->side != 0) {
      out.text("side", turner->side < 0 ? "left" : "right");
      out.time("side_at", turner->side_at);
    }
  }
  out.flag("cooling_reported", cabinet.cooling_reported);
  if (cabinet.cooling) {
    out.time("hand_cools_until", cabinet.seldom().hand_cools_until);
    out.time("machine_cools_until", cabinet.seldom().machine_cools_until);
  }
  if (cabinet.seldom().cooling_until != Steady{})
    out.time("cooling_until", cabinet.seldom().cooling_until);
  if (cabinet.power) out.text("power", *cabinet.power ? "on" : "off");
  if (cabinet.power && !*cabinet.power) out.time("power_lost_at", cabinet.seldom().power_lost_at);
  if (cabinet.seldom().attending) {
    out.time("attending_until", cabinet.seldom().attending->until);
    out.text("attending_by", cabinet.seldom().attending->by);
  }
  if (cabinet.temperature.known) out.tree("temperature", save_seen(world, cabinet.temperature));
  if (cabinet.trend_known) {
    Writer trend(world);
    trend.milli("earlier", cabinet.earlier);
    trend.milli("recent", cabinet.recent);
    trend.time("recent_at", cabinet.recent_at);
    out.tree("trend", trend.take());
  }
  if (cabinet.seldom().humidity) out.tree("humidity", save_seen(world, *cabinet.seldom().humidity));
  if (cabinet.seldom().wet_bulb) out.tree("wet_bulb", save_seen(world, *cabinet.seldom().wet_bulb));
  if (cabinet.seldom().dew_point)
    out.tree("dew_point", save_seen(world, *cabinet.seldom().dew_point));
  if (cabinet.seldom().means) out.tree("means", save_means(world, *cabinet.seldom().means));
  Tree probes = Tree::list();
  for (const Probe& probe : cabinet.probes) {
    if (!probe.heard) continue;
    Writer each(world);
    each.text("probe", world.names[probe.name]);
    each.text("quantity", std::string(name_of(probe.quantity)));
    each.milli("value", probe.value);
    each.time("at", probe.at);
    probes.add(each.take());
  }
  out.tree("probes", std::move(probes));
  out.tree("early", save_early(world, cabinet, ""));
  out.tree("alarms", save_slots(world, cabinet.slots));
  return out.take();
}

Tree save_batch(const World& world, const CabinetWatch& cabinet, const BatchWatch& batch) {
  Writer out(world);
  out.text("cabinet", cabinet.id);
  out.text("profile", batch.profile->id);
  out.wall("set_at", batch.set_at);
  if (batch.eggs > 0) out.number("eggs", batch.eggs);
  out.flag("from_settings", batch.from_settings);
  out.flag("set", batch.set);
  out.flag("finished", batch.ended);
  if (batch.set) out.number("stage", batch.stage);
  if (batch.turning_due) out.time("turning_due_since", batch.turning_due_since);
  if (batch.today) out.tree("turns_today", save_today(*batch.today));
  out.flag("window_open", batch.window_open);
  if (batch.set && batch.window_edge != Wall::max()) out.wall("window_edge", batch.window_edge);
  if (batch.cooling_until != Steady{}) out.time("cooling_until", batch.cooling_until);
  if (batch.airing) out.tree("airing", save_airing(world, *batch.airing));
  out.tree("early", save_early(world, cabinet, batch.id));
  out.tree("alarms", save_slots(world, batch.slots));
  return out.take();
}

bool something_stands(const CabinetWatch& cabinet) {
  const auto stands = [](const Slots& slots) {
    return std::any_of(slots.begin(), slots.end(), [](const Slot& slot) {
      return slot.life && (slot.life->condition || slot.life->active);
    });
  };
  return stands(cabinet.slots) ||
         std::any_of(cabinet.batches.begin(), cabinet.batches.end(),
                     [&](const auto& batch) { return stands(batch->slots); });
}

namespace {

bool holds_only(const Tree& tree, std::initializer_list<std::string_view> keys) {
  return std::all_of(tree.members.begin(), tree.members.end(), [&](const auto& member) {
    return std::find(keys.begin(), keys.end(), member.first) != keys.end();
  });
}

// Its readings are old news by the next start, and after one silence counts from there anyway. Not
// where a condition holds or an alarm stands: they say what the probe that speaks first cannot.
bool comes_back(const CabinetWatch& cabinet, const Tree& tree) {
  const bool configured = cabinet.settings != nullptr || !cabinet.batches.empty();
  return configured && !cabinet.id.empty() && !something_stands(cabinet) &&
         holds_only(tree, {"known_at", "temperature", "trend", "humidity", "wet_bulb", "dew_point",
                           "probes"});
}

// Whether it is set, and at which stage, follows from the time of the last save: begin_if_due().
bool comes_back(const BatchWatch& batch, const Tree& tree) {
  return batch.from_settings && holds_only(tree, {"cabinet", "profile", "set_at", "eggs",
                                                  "from_settings", "set", "stage"});
}

}  // namespace

void keep_cabinet(World& world, CabinetWatch& cabinet) {
  const auto keep = [&](auto& it, std::string key, Tree tree) {
    if (!it.kept && comes_back(it, tree)) return;
    it.kept = true;
    world.changes.push_back({std::move(key), std::move(tree)});
  };
  keep(cabinet, "cabinets/" + cabinet.id, save_cabinet(world, cabinet));
  for (const auto& batch : cabinet.batches)
    keep(*batch, "batches/" + batch->id, save_batch(world, cabinet, *batch));
}

}  // namespace clutchward
