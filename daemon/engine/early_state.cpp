// What the early rules, the signals and the probes' health keep over a restart, as trees of text:
// times as wall time, readings of a window by their age at the save.
#include <charconv>
#include <cmath>

#include "base/limits.h"
#include "engine/saved.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

class Out {
 public:
  explicit Out(const World& world) : world_(world) {}
  void number(const char* key, double value) {
    // Thousandths of what is kept are enough: of thousandths of a degree a millionth.
    tree_.add(key, std::to_string(std::llround(value * 1000)));
  }
  void text(const char* key, std::string value) {
    if (!value.empty()) tree_.add(key, std::move(value));
  }
  void time(const char* key, Steady value) { tree_.add(key, to_rfc3339(world_.wall_of(value))); }
  Tree take() { return std::move(tree_); }

 private:
  const World& world_;
  Tree tree_ = Tree::map();
};

class In {
 public:
  In(const World& world, const Tree& tree, Wall now) : world_(world), tree_(tree), now_(now) {}
  double number(const char* key) const {
    const std::string_view text = tree_.get(key);
    std::int64_t value = 0;
    std::from_chars(text.data(), text.data() + text.size(), value);
    return static_cast<double>(value) / 1000;
  }
  std::uint32_t count(const char* key) const {
    return static_cast<std::uint32_t>(std::max(0.0, std::min(1e6, number(key))));
  }
  Milli milli(const char* key) const {
    return static_cast<Milli>(std::llround(std::max(-1e8, std::min(1e8, number(key)))));
  }
  // How long ago it was; none where it is not there.
  std::optional<Span> age(const char* key) const {
    const auto at = parse_rfc3339(tree_.get(key));
    return at ? std::optional(now_ - *at) : std::nullopt;
  }
  Steady time(const char* key) const { return world_.present.steady - age(key).value_or(Span{0}); }
  bool has(const char* key) const { return tree_.find(key) != nullptr; }
  std::string_view text(const char* key) const { return tree_.get(key); }

 private:
  const World& world_;
  const Tree& tree_;
  Wall now_;
};

Tree save_track(const World& world, const Track& track) {
  Out out(world);
  const Steady now = world.present.steady;
  if (std::string window = track.window.text(now); !window.empty()) {
    out.time("at", now);
    out.text("reach", to_text(track.window.reach(now)));
    out.text("window", std::move(window));
  }
  const Trending& trend = track.trend;
  if (trend.target != 0) out.number("target", trend.target);
  std::string learning;
  for (const std::int32_t value : trend.learning) learning += std::to_string(value) + " ";
  out.text("learning", std::move(learning));
  if (trend.learned) {
    out.number("centre", trend.centre);
    out.number("sigma", trend.sigma);
    out.number("lag1", trend.lag1);
    out.number("ewma", trend.ewma.value);
    out.number("steps", std::min(trend.ewma.steps, 100'000U));
    out.time("last", trend.last);
    out.time("rests", trend.rests == Steady{} ? now : trend.rests);
    if (trend.outside) out.text("outside", "true");
  }
  if (track.egg.known) {
    out.number("egg", track.egg.celsius);
    out.number("air", track.egg.air);
    out.time("egg_at", track.egg.at);
    out.time("unknown_since", track.egg.unknown_since);
  }
  return out.take();
}

void load_track(const World& world, const In& in, const Rule& rule, Track& track) {
  if (const auto at = in.age("at")) {
    const Span reach = parse_span(in.text("reach")).value_or(Span{0});
    track.window.read(in.text("window"), world.present.steady - *at,
                      rule.kind == RuleKind::rate ? rule.early.window : Span(60min), reach);
  }
  Trending& trend = track.trend;
  if (in.has("target")) trend.target = in.milli("target");
  const std::string_view learning = in.text("learning");
  for (const char* at = learning.data(); at < learning.data() + learning.size();) {
    std::int32_t value = 0;
    const auto end = std::from_chars(at, learning.data() + learning.size(), value);
    if (end.ec != std::errc()) break;
    trend.learning.push_back(value);
    at = end.ptr + 1;
  }
  if (in.has("centre")) {
    trend.learned = true;
    trend.centre = in.number("centre");
    trend.sigma = in.number("sigma");
    trend.lag1 = in.number("lag1");
    trend.ewma = {in.number("ewma"), in.count("steps")};
    trend.last = in.time("last");
    trend.rests = in.time("rests");
    trend.outside = in.text("outside") == "true";
  }
  if (in.has("egg")) {
    track.egg = {in.number("egg"), in.number("air"), in.time("egg_at"), in.time("unknown_since"),
                 true};
  }
}

Tree save_probes(const World& world, const CabinetWatch& cabinet) {
  Tree all = Tree::list();
  const auto& probes = cabinet.early->probes;
  for (std::size_t i = 0; i < probes.size(); ++i) {
    if (!probes[i].heard && probes[i].implausible == 0) continue;
    Out out(world);
    out.text("probe", world.names[cabinet.probes[i].name]);
    if (probes[i].implausible > 0) out.number("implausible", probes[i].implausible);
    if (!probes[i].heard) {
      all.add(out.take());
      continue;
    }
    out.time("same_since", probes[i].same_since);
    out.number("same", std::min(probes[i].same, 100'000U));
    out.number("least", probes[i].least);
    out.number("most", probes[i].most);
    out.number("last", probes[i].last);
    if (probes[i].jumps > 0) {
      out.number("jumps", probes[i].jumps);
      out.time("jumped_at", probes[i].jumped_at);
    }
    if (probes[i].fault != ProbeFault::none) out.number("fault", static_cast<int>(probes[i].fault));
    all.add(out.take());
  }
  return all;
}

void load_probe(World& world, CabinetWatch& cabinet, const In& in) {
  Early& early = *cabinet.early;
  // One that has only ever said what cannot be is known from here alone.
  if (in.has("implausible") && valid_id(in.text("probe")))
    probe_of(world, cabinet, std::string(in.text("probe")), Quantity::temperature);
  for (std::size_t i = 0; i < cabinet.probes.size(); ++i) {
    if (world.names[cabinet.probes[i].name] != in.text("probe") ||
        cabinet.probes[i].quantity != Quantity::temperature)
      continue;
    early.probes.resize(cabinet.probes.size());
    ProbeHealth& health = early.probes[i];
    health.implausible = static_cast<std::uint8_t>(std::min(in.count("implausible"), 255U));
    health.fault = static_cast<ProbeFault>(std::min(in.count("fault"), 4U));
    if (!in.has("same_since")) continue;  // it has only ever said what cannot be
    health.heard = true;
    health.same_since = in.time("same_since");
    health.same = in.count("same");
    health.least = in.milli("least");
    health.most = in.milli("most");
    health.last = in.milli("last");
    health.jumps = static_cast<std::uint8_t>(std::min(in.count("jumps"), 255U));
    health.jumped_at = in.time("jumped_at");
    cabinet.probes[i].left_out =
        health.fault == ProbeFault::frozen || health.fault == ProbeFault::jumping;
  }
}

}  // namespace

Tree save_early(const World& world, const CabinetWatch& cabinet, const std::string& batch) {
  Tree all = Tree::map();
  if (!cabinet.early) return all;
  Tree tracks = Tree::map();
  for (const Track& track : cabinet.early->tracks) {
    if (track.batch != batch) continue;
    Tree tree = save_track(world, track);
    if (!tree.members.empty()) tracks.add(track.rule, std::move(tree));
  }
  if (!tracks.members.empty()) all.add("tracks", std::move(tracks));
  if (!batch.empty()) return all;
  Tree signals = Tree::map();
  for (const SignalState& signal : cabinet.early->signals) {
    Out out(world);
    out.text("state", signal.on ? "on" : "off");
    out.time("since", signal.since);
    signals.add(signal.name, out.take());
  }
  if (!signals.members.empty()) all.add("signals", std::move(signals));
  if (Tree probes = save_probes(world, cabinet); !probes.members.empty()) {
    all.add("probes", std::move(probes));
    if (cabinet.early->heard_at == Steady{}) return all;
    Out out(world);
    out.time("heard_at", cabinet.early->heard_at);
    out.time("resumed_at", cabinet.early->resumed_at);
    all.add("probes_heard", out.take());
  }
  return all;
}

void load_signals(World& world, CabinetWatch& cabinet, const Tree& tree, Wall now) {
  const Tree* signals = tree.find("signals");
  if (signals == nullptr) return;
  Early& early = early_of(cabinet);
  for (const auto& [name, state] : signals->members)
    if (valid_id(name) && early.signals.size() < limits::kSignalsPerCabinet)
      early.signals.push_back(
          {name, state.get("state") == "on", In(world, state, now).time("since")});
}

void load_early(World& world, CabinetWatch& cabinet, const BatchWatch* batch, const Tree& tree,
                Wall now) {
  if (!cabinet.early) return;
  const Tree* tracks = tree.find("tracks");
  const std::string owner = batch != nullptr ? batch->id : std::string();
  if (tracks != nullptr)
    visit(cabinet, [&](BatchWatch* of, Slot& slot) {
      if (of != batch || slot.former) return;
      const Tree* kept = tracks->find(slot.rule->id);
      Track* track = cabinet.early->track(owner, slot.rule->id);
      if (kept != nullptr && track != nullptr)
        load_track(world, In(world, *kept, now), *slot.rule, *track);
    });
  const Tree* probes = tree.find("probes");
  if (probes == nullptr || batch != nullptr || !cabinet.early->watches_probes) return;
  for (const auto& [unused, probe] : probes->members)
    load_probe(world, cabinet, In(world, probe, now));
  if (const Tree* heard = tree.find("probes_heard")) {
    const In in(world, *heard, now);
    cabinet.early->heard_at = in.time("heard_at");
    cabinet.early->resumed_at = in.time("resumed_at");
  }
}

}  // namespace clutchward
