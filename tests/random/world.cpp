// Dice for configurations, readings and people.
#include "world.h"

namespace clutchward::hostile {
namespace {

using namespace std::chrono_literals;

const std::vector<std::string> kCabinets{"a", "b", "B"};
const std::vector<std::string> kProbes{"top", "low", "mid"};
const std::vector<std::string> kBatches{"ducks", "geese", "hens"};

TopicPattern pattern(const std::string& level, Quantity quantity) {
  TopicPattern made;
  made.topic = "farm/{cabinet}/" + level;
  made.quantity = quantity;
  return made;
}

Span some_delay(Dice& dice) {
  return dice.of(std::vector<Span>{0ms, 0ms, 1ms, 10s, 1min, 90s, 3min, 10min});
}

RulePatch some_patch(Dice& dice) {
  RulePatch patch;
  if (dice.one_in(2)) patch.delay = some_delay(dice);
  if (dice.one_in(3)) patch.clear_delay = some_delay(dice);
  if (dice.one_in(3)) patch.latch = dice.one_in(2);
  if (dice.one_in(3)) patch.snooze_max = 1min * (1 + dice.below(90));
  if (dice.one_in(3)) patch.priority = static_cast<Priority>(dice.below(3));
  if (dice.one_in(3)) patch.acknowledge_holds = SpanOrOff{1min * (1 + dice.below(20))};
  if (dice.one_in(4)) patch.deadband = dice.below(4) * 200;
  return patch;
}

RulePatches some_rules(Dice& dice) {
  RulePatches rules;
  for (const char* id : {"high", "hot", "warm", "cool", "low", "turning"}) {
    if (dice.one_in(4)) {
      rules[id].off = true;
      continue;
    }
    rules[id] = some_patch(dice);
    if (dice.one_in(2)) rules[id].warm_up = 1min * dice.below(200);
    if (id != std::string("turning") && dice.one_in(4))
      rules[id].worse_by = MilliOrOff{dice.one_in(3) ? std::nullopt : std::optional<Milli>(400)};
  }
  return rules;
}

Stage some_stage(Dice& dice, int number) {
  Stage stage;
  stage.name = "stage-" + std::to_string(number);
  stage.target = 36'500 + 250 * dice.below(6);
  if (dice.one_in(2)) stage.turn_every = 1min * (1 + dice.below(15));
  if (dice.one_in(3)) stage.cooling = {{8h + 1min * dice.below(200), 1min * (1 + dice.below(20))}};
  if (dice.one_in(3)) stage.recovery = 1min * dice.below(10);
  if (dice.one_in(2)) stage.rules = some_rules(dice);
  return stage;
}

std::string some_number(Dice& dice) {
  const int tenths = 330 + dice.below(90);
  return std::to_string(tenths / 10) + "." + std::to_string(tenths % 10);
}

std::string some_payload(Dice& dice) {
  if (dice.one_in(12))
    return dice.of(std::vector<std::string>{"85", "-127", "nan", "", "soon", "60.001", "-20.001",
                                            "1e400", "3 7", "37,5"});
  if (dice.one_in(8))  // jumps
    return dice.of(std::vector<std::string>{"60", "-20", "0", "39.5", "34.5", "41.0", "41.001"});
  return some_number(dice);
}

Command some_command(const Settings& settings, Dice& dice) {
  Command command;
  command.deed = static_cast<Deed>(dice.below(static_cast<int>(kDeedNames.size()) - 1));
  if (dice.one_in(3)) command.id = "c-" + std::to_string(dice.below(12));
  command.by = dice.of(std::vector<std::string>{"mara", "jonas", ""});
  command.cabinet = dice.one_in(20) ? "nowhere" : dice.of(kCabinets);
  if (dice.one_in(3)) command.batch = dice.of(kBatches);
  if (dice.one_in(2) || command.deed == Deed::out_of_service)
    command.alarm = dice.of(std::vector<std::string>{"high", "hot", "warm", "cool", "low", "silent",
                                                     "blind", "spread", "power", "turning", "damp",
                                                     "overheat", "nothing"});
  if (dice.one_in(2)) command.minutes = (dice.below(400) - 20) / 4.0;
  if (dice.one_in(4)) command.profile = "bench";
  if (dice.one_in(10)) command.profile = "none";
  if (dice.one_in(4)) command.set_at = kStart + 1min * (dice.below(300) - 60);
  if (dice.one_in(2)) command.to = dice.of(kCabinets);
  if (dice.one_in(5)) command.until = kStart + 1min * dice.below(300);
  if (dice.one_in(20)) command.episode = "high-1";
  if (command.deed == Deed::batch_end && !dice.one_in(4)) command.deed = Deed::acknowledge;
  if (command.deed == Deed::batch_start) command.batch = dice.of(kBatches);
  (void)settings;
  return command;
}

}  // namespace

Settings random_settings(Dice& dice) {
  Settings made;
  made.site = "Saltmere";
  made.broker.base = "clutchward/saltmere";
  made.patterns = {pattern("{probe}/temperature", Quantity::temperature),
                   pattern("{probe}/humidity", Quantity::humidity),
                   pattern("turned", Quantity::turn), pattern("mains", Quantity::power),
                   pattern("cooling", Quantity::cooling)};
  for (const std::string& id : kCabinets) {
    if (dice.one_in(3)) continue;
    CabinetSettings& cabinet = made.cabinets[id];
    cabinet.turner = dice.one_in(3);
    cabinet.combine = static_cast<Combine>(dice.below(4));
    if (dice.one_in(4)) cabinet.probes["low"] = static_cast<Part>(dice.below(4));
    if (dice.one_in(4)) cabinet.offsets["top"] = dice.below(401) - 200;
  }
  made.rules = some_rules(dice);
  for (const char* id : {"overheat", "silent", "blind", "spread", "power", "broker"})
    if (dice.one_in(2)) made.rules[id] = some_patch(dice);
  if (dice.one_in(2)) made.rules["silent"].after = 1min * (1 + dice.below(8));
  if (dice.one_in(6)) (made.rules["silent"] = {}).off = true;
  if (dice.one_in(2)) made.rules["blind"].after = 1min * (5 + dice.below(20));
  if (dice.one_in(2))
    made.rules["still"] = some_patch(dice), made.rules["still"].kind = RuleKind::still;
  RulePatch& damp = made.rules["damp"] = some_patch(dice);
  damp.kind = RuleKind::above;
  damp.quantity = Quantity::humidity;
  damp.limit = 60'000;
  RulePatch& watched = made.rules[kWatched] = some_patch(dice);
  watched.kind = RuleKind::above;
  watched.machine = true;
  watched.limit = 37'000 + 100 * dice.below(30);
  Profile profile;
  profile.id = "bench";
  profile.days = 21;
  const int stages = 1 + dice.below(3);
  for (int i = 0; i < stages; ++i) {
    profile.stages.push_back(some_stage(dice, i));
    if (i > 0) profile.stages[i].from = profile.stages[i - 1].from + 1min * (1 + dice.below(150));
  }
  if (dice.one_in(2)) profile.rules = some_rules(dice);
  made.profiles["bench"] = profile;
  for (const std::string& id : kBatches) {
    if (dice.one_in(2)) continue;
    BatchSettings batch;
    batch.id = id;
    batch.profile = "bench";
    batch.cabinet = dice.of(kCabinets);
    batch.set_at = kStart + 1min * (dice.below(400) - 300);
    if (dice.one_in(3)) batch.rules = some_rules(dice);
    if (dice.one_in(4)) batch.recovery = 1min * dice.below(9);
    made.batches.push_back(batch);
  }
  made.recovery = 1min * dice.below(30);
  return made;
}

Settings changed(const Settings& settings, Dice& dice) {
  Settings made = settings;
  for (auto& [id, patch] : some_rules(dice)) made.rules[id] = patch;
  return made;
}

std::vector<Step> random_steps(const Settings& settings, const Wishes& wishes, Dice& dice) {
  std::vector<Step> steps;
  Span now = 0s;
  bool up = true;
  for (int i = 0; i < wishes.steps; ++i) {
    now += dice.of(std::vector<Span>{0ms, 1ms, 500ms, 1s, 10s, 20s, 30s, 45s, 1min, 1min, 2min});
    if (dice.one_in(25)) now += 1min * dice.below(40);  // gaps
    Step step;
    step.after = dice.one_in(20) ? now - 1s * dice.below(100) : now;
    const int kind = dice.below(20);
    if (kind < 12) {
      step.topic = "farm/" + dice.of(kCabinets) + "/" + dice.of(kProbes) + "/temperature";
      if (step.topic.find("/b/") != std::string::npos) step.topic = "farm/b/top/temperature";
      step.payload = some_payload(dice);
      step.retained = dice.one_in(15);
    } else if (kind == 12) {
      step.topic = "farm/" + dice.of(kCabinets) + "/top/humidity";
      step.payload = std::to_string(30 + dice.below(60));
    } else if (kind == 13) {
      step.topic = "farm/" + dice.of(kCabinets) + "/" +
                   dice.of(std::vector<std::string>{"turned", "mains", "cooling"});
      step.payload = dice.one_in(2) ? "on" : "off";
      step.retained = dice.one_in(10);
    } else if (kind == 14 && wishes.link && dice.one_in(2)) {
      step.what = What::link;
      step.up = up = !up;
    } else if (kind == 15 && wishes.wall_steps && dice.one_in(3)) {
      step.what = What::wall_step;
      step.jump = 1s * (dice.below(7200) - 3600);
    } else if (kind == 16 && wishes.configure && dice.one_in(3)) {
      step.what = What::configure;
    } else {
      step.what = What::command;
      step.command = some_command(settings, dice);
      step.retained = dice.one_in(30);
    }
    steps.push_back(step);
    if (dice.one_in(15)) steps.push_back(step);  // twice
  }
  return steps;
}

}  // namespace clutchward::hostile
