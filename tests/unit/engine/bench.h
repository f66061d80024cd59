// A small farm for the engine's tests: two cabinets, rules with short delays, and a wall and a boot
// clock that a test moves by hand. Settings are made here, not read: config/ has tests of its own.
#pragma once

#include <algorithm>
#include <map>
#include <string>
#include <vector>

#include "engine/engine.h"

namespace clutchward::bench {

using namespace std::chrono_literals;

inline constexpr Wall kStart{1772352000000ms};  // 2026-03-01T08:00:00Z

inline TopicPattern pattern(const std::string& level, Quantity quantity) {
  TopicPattern made;
  made.topic = "farm/{cabinet}/" + level;
  made.quantity = quantity;
  return made;
}

inline Settings settings() {
  Settings made;
  made.site = "Saltmere";
  made.broker.base = "clutchward/saltmere";
  made.patterns = {pattern("{probe}/temperature", Quantity::temperature),
                   pattern("{probe}/humidity", Quantity::humidity),
                   pattern("turned", Quantity::turn), pattern("mains", Quantity::power),
                   pattern("cooling", Quantity::cooling)};
  made.cabinets["a"].turner = true;
  made.cabinets["b"];
  Profile profile;
  profile.id = "bench";
  profile.name = "Domestic hen";
  profile.days = 21;
  Stage stage;
  stage.name = "setting";
  stage.target = 37'500;
  stage.turn_every = 3min;
  profile.stages = {stage};
  made.profiles["bench"] = profile;
  BatchSettings batch;
  batch.id = "hens";
  batch.profile = "bench";
  batch.cabinet = "a";
  batch.set_at = kStart - 48h;
  made.batches = {batch};
  made.recovery = 4min;
  made.rules["hot"].delay = 3min;
  made.rules["warm"].delay = 5min;
  made.rules["warm"].clear_delay = 2min;
  made.rules["low"].delay = 2min;
  made.rules["high"].acknowledge_holds = SpanOrOff{4min};
  made.rules["silent"].after = 3min;
  made.rules["blind"].after = 7min;
  made.rules["spread"].delay = 2min;
  RulePatch& damp = made.rules["damp"];
  damp.kind = RuleKind::above;
  damp.quantity = Quantity::humidity;
  damp.limit = 65'000;
  damp.delay = 1min;
  return made;
}

// One thing that happens, `after` the start.
struct Step {
  Span after{0};
  std::string topic;  // "" : a command
  std::string payload;
  Command command{};
};

inline Step reading(Span after, const std::string& where, const std::string& value) {
  return {after, "farm/" + where, value, {}};
}
inline Step deed(Span after, Deed what, const std::string& alarm = {},
                 std::optional<double> minutes = {}, const std::string& id = {}) {
  Command command;
  command.id = id;
  command.by = "mara";
  command.deed = what;
  command.cabinet = "a";
  command.alarm = alarm;
  command.minutes = minutes;
  return {after, "", "", command};
}

inline Reply apply(Engine& engine, const Step& step, Moment now) {
  if (step.topic.empty()) return engine.command(step.command, false, now);
  engine.message(step.topic, step.payload, false, now);
  return {};
}

// What a store would hold.
class Kept {
 public:
  void take(Engine& engine) {
    engine.keep_readings();  // a clean stop; a crash may lose readings that changed nothing
    take_at_a_crash(engine);
  }
  void take_at_a_crash(Engine& engine) {
    for (Change& change : engine.take_changes()) {
      if (change.value)
        trees_[change.key] = std::move(*change.value);
      else
        trees_.erase(change.key);
    }
  }
  std::vector<std::pair<std::string, Tree>> all() const { return {trees_.begin(), trees_.end()}; }

 private:
  std::map<std::string, Tree> trees_;
};

}  // namespace clutchward::bench
