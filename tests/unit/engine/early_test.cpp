// Rules that speak up before a limit is reached, on/off signals, probes that are not to be
// believed, and silence of all cabinets together: what is raised when, and that a restart changes
// nothing.
#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "bench.h"
#include "incubation/egg_heat.h"

namespace clutchward::bench {
namespace {

// The bench's farm with a long silence limit, so that minutes may pass between readings.
Settings farm() {
  Settings made = settings();
  made.rules["silent"].after = 5min;
  made.profiles["bench"].stages[0].turn_every.reset();
  TopicPattern door = pattern("door", Quantity::signal);
  door.signal = "door";
  TopicPattern button = pattern("button", Quantity::signal);
  button.signal = "button";
  made.patterns.push_back(door);
  made.patterns.push_back(button);
  return made;
}

RulePatch rule(RuleKind kind) {
  RulePatch patch;
  patch.kind = kind;
  patch.latch = false;
  return patch;
}

class House {
 public:
  explicit House(const Settings& from) : settings_(from) {
    engine_ = std::make_unique<Engine>(settings_, Zone(), moment(0ms), true);
    engine_->begin();
  }

  void say(Span at, const std::string& where, const std::string& what, bool retained = false) {
    engine_->message("farm/" + where, what, retained, moment(at));
    collect();
  }
  void celsius(Span at, const std::string& probe, double value) {
    say(at, "a/" + probe + "/temperature", std::to_string(value));
  }
  void until(Span at) {
    engine_->settle(moment(at));
    collect();
  }
  Reply do_it(Span at, Deed what) {
    const Reply reply = apply(*engine_, deed(at, what), moment(at));
    collect();
    return reply;
  }
  // The state goes through its trees; boot time begins anew.
  void restart(Span at, Span away) {
    kept_.take(*engine_);
    boot_ = Steady{Span{7min}} - (at + away);
    engine_ = std::make_unique<Engine>(settings_, Zone(), moment(at + away), true);
    EXPECT_TRUE(engine_->restore(kept_.all(), kStart + at).empty());
    engine_->begin();
    collect();
  }
  // "00:21:00 soon raised", the early ones only.
  std::vector<std::string> told(const std::string& alarm) const {
    std::vector<std::string> lines;
    for (const AlarmEvent& event : events_)
      if (event.key.alarm == alarm)
        lines.push_back(to_text(event.at - kStart) + " " + std::string(name_of(event.kind)));
    return lines;
  }
  AlarmEvent last(const std::string& alarm) const {
    AlarmEvent found;
    for (const AlarmEvent& event : events_)
      if (event.key.alarm == alarm) found = event;
    return found;
  }
  Engine& engine() { return *engine_; }
  AlarmView view(const std::string& alarm, const std::string& batch = "hens") {
    const auto found = engine_->find({"a", batch, alarm});
    return found ? *found : AlarmView{};
  }
  ProbeView probe(const std::string& name) {
    const auto view = engine_->view("a");
    for (const ProbeView& each : view->probes)
      if (each.probe == name) return each;
    return {};
  }

 private:
  Moment moment(Span at) const { return {boot_ + at, kStart + at, true}; }
  void collect() {
    for (AlarmEvent& event : engine_->take_events()) events_.push_back(std::move(event));
    engine_->take_dirty_cabinets();
  }

  Settings settings_;
  Steady boot_{Span{1h}};
  std::unique_ptr<Engine> engine_;
  Kept kept_;
  std::vector<AlarmEvent> events_;
};

// Steady for twenty minutes, then rising 0.05 C a minute: a straight line through the last ten
// minutes (eleven readings, both ends) reaches 39.5 within twenty minutes when, `n` minutes into
// the rise, 37.5 + what the line says twenty minutes on is past it. Worked out apart from this
// program by exact fractions: n = 20 is the first with (37.5 + 0.05 n) + 20 x 0.05 >= 39.5 once the
// whole window rises.
void ramp(House& house, int from, int to) {
  for (int minute = from; minute <= to; ++minute)
    house.celsius(std::chrono::minutes{minute}, "top", 37.5 + 0.05 * std::max(0, minute - 20));
}

TEST(Rate, WarnsTwentyMinutesBeforeTheLimit) {
  Settings made = farm();
  made.rules["soon"] = rule(RuleKind::rate);
  House house(made);
  ramp(house, 0, 45);
  EXPECT_EQ(house.told("soon"), std::vector<std::string>{"40min raised"});
  const AlarmEvent event = house.last("soon");
  EXPECT_EQ(event.value, 38'500);
  EXPECT_EQ(event.limit, 39'500);
  const AlarmView view = house.view("soon");
  EXPECT_EQ(view.priority, Priority::low);
  EXPECT_EQ(view.harm, 39'500);
  ASSERT_TRUE(view.harm_at);
  EXPECT_EQ(*view.harm_at, kStart + 60min);
}

TEST(Rate, ReturnsWhenThePaceIsGone) {
  Settings made = farm();
  made.rules["soon"] = rule(RuleKind::rate);
  House house(made);
  ramp(house, 0, 41);
  for (int minute = 42; minute <= 60; ++minute)
    house.celsius(std::chrono::minutes{minute}, "top", 38.5);
  const auto told = house.told("soon");
  ASSERT_EQ(told.size(), 2U);
  EXPECT_EQ(told[1].substr(told[1].find(' ') + 1), "returned");
}

TEST(Rate, LooksTheOtherWayWhereItIsTold) {
  Settings made = farm();
  made.rules["soon"] = rule(RuleKind::rate);
  made.rules["soon"].early.towards = Towards::low;
  House house(made);
  // 0.1 C a minute down: 34.5 is twenty minutes away at 36.5, ten minutes after the fall began.
  for (int minute = 0; minute <= 35; ++minute)
    house.celsius(std::chrono::minutes{minute}, "top", 37.5 - 0.1 * std::max(0, minute - 20));
  EXPECT_EQ(house.told("soon"), std::vector<std::string>{"30min raised"});
  EXPECT_TRUE(house.view("soon").downwards);
  EXPECT_EQ(house.view("soon").harm_at, kStart + 50min);
}

// After an open door a machine heats up because it should.
TEST(Rate, WaitsForTheTargetWhereItIsTold) {
  Settings made = farm();
  made.rules["soon"] = rule(RuleKind::rate);
  made.rules["soon"].early.at_least = 300;
  made.rules["any"] = rule(RuleKind::rate);
  House house(made);
  for (int minute = 0; minute <= 40; ++minute)
    house.celsius(std::chrono::minutes{minute}, "top",
                  std::min(37.5, 33.0 + 0.2 * std::max(0, minute - 10)));
  EXPECT_TRUE(house.told("soon").empty());
  EXPECT_FALSE(house.told("any").empty());
}

TEST(Rate, NeedsTheWholeWindow) {
  Settings made = farm();
  made.rules["soon"] = rule(RuleKind::rate);
  House house(made);
  for (int minute = 0; minute <= 9; ++minute)
    house.celsius(std::chrono::minutes{minute}, "top", 37.5 + 0.1 * minute);
  EXPECT_TRUE(house.told("soon").empty());
}

TEST(Rate, GoesOnOverARestart) {
  Settings made = farm();
  made.rules["soon"] = rule(RuleKind::rate);
  House house(made);
  ramp(house, 0, 37);
  house.restart(37min, 90s);
  ramp(house, 39, 45);
  EXPECT_EQ(house.told("soon"), std::vector<std::string>{"40min raised"});
}

TEST(Rate, IsQuietWhileTheBatchWarmsUp) {
  Settings made = farm();
  made.rules["soon"] = rule(RuleKind::rate);
  made.batches[0].set_at = kStart;
  House house(made);
  ramp(house, 0, 45);
  EXPECT_TRUE(house.told("soon").empty());
  EXPECT_EQ(house.view("soon").state, AlarmState::suppressed);
}

// One reading a minute around 37.5 with a spread of 0.03 C, then a creep of 0.6 C an hour.
void drifting(House& house, int from, int to, int creeps_at) {
  for (int minute = from; minute <= to; ++minute) {
    std::mt19937 random(static_cast<unsigned>(minute));
    std::normal_distribution<double> noise(0, 0.03);
    house.celsius(std::chrono::minutes{minute}, "top",
                  37.5 + noise(random) + 0.01 * std::max(0, minute - creeps_at));
  }
}

TEST(Trend, WarnsOfACreepAndNamesTheHour) {
  Settings made = farm();
  made.rules["drift"] = rule(RuleKind::trend);
  House house(made);
  drifting(house, 0, 420, 300);
  const auto told = house.told("drift");
  ASSERT_EQ(told.size(), 1U);
  // Learned from three hours; past 0.3 C half an hour after the creep began, the chart some minutes
  // on.
  EXPECT_GT(house.last("drift").at, kStart + 330min);
  EXPECT_LT(house.last("drift").at, kStart + 340min);
  const AlarmView view = house.view("drift");
  EXPECT_EQ(view.harm, 39'500);
  ASSERT_TRUE(view.harm_at);
  // 200 min after the creep began, give or take what an hour's line leaves.
  EXPECT_NEAR(static_cast<double>((*view.harm_at - kStart).count()) / 60'000, 500, 15);
  ASSERT_TRUE(view.harm_from && view.harm_until);
  EXPECT_LT(*view.harm_from, *view.harm_at);
  EXPECT_GT(*view.harm_until, *view.harm_at);
}

TEST(Trend, SaysNothingBeforeItHasLearned) {
  Settings made = farm();
  made.rules["drift"] = rule(RuleKind::trend);
  House house(made);
  drifting(house, 0, 170, 60);
  EXPECT_TRUE(house.told("drift").empty());
}

TEST(Trend, KeepsWhatItLearnedOverRestarts) {
  Settings made = farm();
  made.rules["drift"] = rule(RuleKind::trend);
  House one(made);
  drifting(one, 0, 400, 300);
  House other(made);
  drifting(other, 0, 100, 300);
  other.restart(100min, 30s);
  drifting(other, 101, 250, 300);
  other.restart(250min, 30s);
  drifting(other, 251, 400, 300);
  ASSERT_EQ(one.told("drift").size(), 1U);
  EXPECT_EQ(one.told("drift"), other.told("drift"));
}

// A new target is no drift: the centre moves with it.
TEST(Trend, FollowsTheTarget) {
  Settings made = farm();
  made.rules["drift"] = rule(RuleKind::trend);
  Stage later = made.profiles["bench"].stages[0];
  later.name = "later";
  later.from = 48h + 300min;
  later.target = 36'900;
  made.profiles["bench"].stages.push_back(later);
  House house(made);
  drifting(house, 0, 300, 1000);
  for (int minute = 301; minute <= 800; ++minute)
    house.celsius(std::chrono::minutes{minute}, "top", 36.9);
  EXPECT_TRUE(house.told("drift").empty());
}

TEST(Signal, RaisesADoorThatStandsOpen) {
  Settings made = farm();
  made.rules["lid"] = rule(RuleKind::signal);
  made.rules["lid"].early.signal = "door";
  House house(made);
  EXPECT_FALSE(house.engine().find({"a", "", "lid"}));  // never reported here
  house.say(1min, "a/door", "closed");
  house.say(2min, "a/door", "open");
  house.until(20min);
  house.say(21min, "a/door", "closed");
  EXPECT_EQ(house.told("lid"), (std::vector<std::string>{"12min raised", "21min returned"}));
}

TEST(Signal, KeepsItsStateOverARestart) {
  Settings made = farm();
  made.rules["lid"] = rule(RuleKind::signal);
  made.rules["lid"].early.signal = "door";
  House house(made);
  house.say(2min, "a/door", "open");
  house.restart(5min, 1min);
  house.until(20min);
  EXPECT_EQ(house.told("lid"), std::vector<std::string>{"12min raised"});
  house.say(21min, "a/door", "closed");
  EXPECT_EQ(house.told("lid").size(), 2U);
}

TEST(Signal, AButtonSaysThatSomebodyIsHere) {
  Settings made = farm();
  made.rules["lid"] = rule(RuleKind::signal);
  made.rules["lid"].early.signal = "door";
  House house(made);
  house.say(1min, "a/door", "open");
  house.say(5min, "a/button", "pressed");
  EXPECT_EQ(house.engine().view("a")->attending_by, "button");
  house.until(30min);
  EXPECT_TRUE(house.told("lid").empty());
  // What was left of the delay goes on when the half hour is over.
  house.until(60min);
  EXPECT_EQ(house.told("lid"), std::vector<std::string>{"41min raised"});
}

TEST(Signal, OldNewsSaysNothing) {
  Settings made = farm();
  made.rules["lid"] = rule(RuleKind::signal);
  made.rules["lid"].early.signal = "door";
  House house(made);
  house.say(1min, "a/door", "open", true);
  house.say(1min, "a/button", "pressed", true);
  EXPECT_FALSE(house.engine().find({"a", "", "lid"}));
  EXPECT_FALSE(house.engine().view("a")->attending_until);
}

Settings with_probe_rule() {
  Settings made = farm();
  made.rules["spread"].off = true;
  made.rules["probe_fault"] = rule(RuleKind::probe);
  return made;
}

TEST(ProbeHealth, LeavesOutAFrozenProbeWhileItsNeighboursMove) {
  House house(with_probe_rule());
  for (int minute = 0; minute <= 60; ++minute) {
    const Span at = std::chrono::minutes{minute};
    const double real = 37.5 + 0.01 * minute;
    house.celsius(at, "top", 37.5);
    house.celsius(at, "middle", real);
    house.celsius(at, "bottom", real + 0.02);
  }
  // 0.3 C of movement at the thirtieth minute, and half an hour without a change then.
  ASSERT_EQ(house.told("probe_fault"), std::vector<std::string>{"30min raised"});
  EXPECT_TRUE(house.probe("top").left_out);
  EXPECT_EQ(house.probe("top").fault, "frozen");
  EXPECT_FALSE(house.probe("middle").left_out);
  EXPECT_EQ(house.view("probe_fault", "").says, "top frozen at 37.5 °C (left out)");
  // Two count: each is seen by the rules that it matters to.
  house.celsius(61min, "top", 38.4);
  EXPECT_FALSE(house.probe("top").left_out);
  EXPECT_EQ(house.told("probe_fault").size(), 2U);
}

TEST(ProbeHealth, FindsALoneFrozenProbeAfterLonger) {
  House house(with_probe_rule());
  for (int minute = 0; minute <= 400; ++minute)
    house.celsius(std::chrono::minutes{minute}, "top", 37.56);
  EXPECT_EQ(house.told("probe_fault"), std::vector<std::string>{"6h raised"});
  // It is the only one that speaks: it goes on counting.
  EXPECT_EQ(house.engine().view("a")->temperature, 37'560);
}

TEST(ProbeHealth, TellsASilentProbeAmongLivingOnes) {
  House house(with_probe_rule());
  for (int minute = 0; minute <= 30; ++minute) {
    house.celsius(std::chrono::minutes{minute}, "top", 37.5 + 0.01 * (minute % 3));
    if (minute <= 5) house.celsius(std::chrono::minutes{minute}, "bottom", 37.4);
  }
  EXPECT_EQ(house.told("probe_fault"), std::vector<std::string>{"15min raised"});
  EXPECT_EQ(house.probe("bottom").fault, "silent");
}

TEST(ProbeHealth, TellsErrorValuesThreeTimesInARow) {
  House house(with_probe_rule());
  house.celsius(1min, "top", 37.5);
  house.say(2min, "a/top/temperature", "85");
  house.say(3min, "a/top/temperature", "-127");
  house.celsius(4min, "top", 37.5);
  house.say(5min, "a/top/temperature", "85");
  house.say(6min, "a/top/temperature", "85");
  EXPECT_TRUE(house.told("probe_fault").empty());
  house.say(7min, "a/top/temperature", "127.9375");
  EXPECT_EQ(house.told("probe_fault"), std::vector<std::string>{"7min raised"});
  house.celsius(8min, "top", 37.6);
  EXPECT_EQ(house.told("probe_fault").size(), 2U);
}

// -0.0625 C lies inside the plausible range, and a common probe says it when its ground is lost: no
// reading where the one before was far away.
TEST(ProbeHealth, TakesAllBitsSetForNoReading) {
  House house(with_probe_rule());
  house.celsius(1min, "top", 37.5);
  house.celsius(1min, "bottom", 37.4);
  house.say(2min, "a/top/temperature", "-0.0625");
  EXPECT_EQ(house.probe("top").value, 37'500);
  house.say(3min, "a/top/temperature", "-0.0625");
  EXPECT_TRUE(house.told("probe_fault").empty());
  house.say(4min, "a/top/temperature", "-0.06");  // as a gateway writes it with two decimals
  EXPECT_EQ(house.told("probe_fault"), std::vector<std::string>{"4min raised"});
  EXPECT_EQ(house.probe("top").fault, "implausible");
  EXPECT_EQ(house.engine().counts().last_rejected, "a: implausible: -0.06");
  // A new probe among others is known by them.
  house.say(5min, "a/new/temperature", "-0.0625");
  EXPECT_FALSE(house.probe("new").value);
  house.celsius(6min, "top", 37.6);
  EXPECT_EQ(house.told("probe_fault").size(), 2U);
}

TEST(ProbeHealth, BelievesFrostThatComesInSteps) {
  House house(with_probe_rule());
  for (const double value : {2.5, 1.0, -0.0625, -0.5})
    house.celsius(std::chrono::minutes{static_cast<int>(10 - value)}, "top", value);
  EXPECT_EQ(house.probe("top").value, -500);
  EXPECT_EQ(house.engine().counts().rejected.size(), kRejections);
  for (const auto& [why, count] : house.engine().counts().rejected) EXPECT_EQ(count, 0U) << why;
}

// What a restart must not change: the same readings, with and without one.
TEST(ProbeHealth, IsTheSameOverARestart) {
  // A frozen probe among two that move, and one that falls silent at the twentieth minute.
  const auto play = [](House& house, int from, int until) {
    for (int minute = from; minute <= until; ++minute) {
      const Span at = std::chrono::minutes{minute};
      house.celsius(at, "top", 37.5);
      house.celsius(at, "middle", 37.5 + 0.02 * minute);
      if (minute <= 20) house.celsius(at, "bottom", 37.4 + 0.02 * minute);
    }
  };
  House one(with_probe_rule());
  play(one, 0, 60);
  ASSERT_EQ(one.told("probe_fault"), std::vector<std::string>{"30min raised"});
  for (const int at : {10, 25, 32, 50}) {
    House other(with_probe_rule());
    play(other, 0, at);
    other.restart(std::chrono::minutes{at}, 30s);
    play(other, at + 1, 60);
    EXPECT_EQ(other.told("probe_fault"), one.told("probe_fault")) << at;
    EXPECT_EQ(other.view("probe_fault", "").says, one.view("probe_fault", "").says) << at;
    EXPECT_EQ(other.probe("top").left_out, one.probe("top").left_out) << at;
  }
}

TEST(ProbeHealth, CountsErrorValuesOverARestart) {
  House house(with_probe_rule());
  house.celsius(1min, "top", 37.5);
  house.say(2min, "a/other/temperature", "85");  // it has never said anything else
  house.say(3min, "a/other/temperature", "85");
  house.restart(4min, 30s);
  EXPECT_TRUE(house.told("probe_fault").empty());
  house.say(5min, "a/other/temperature", "-127");
  EXPECT_EQ(house.told("probe_fault"), std::vector<std::string>{"5min raised"});
  house.restart(6min, 30s);
  house.celsius(7min, "top", 37.51);
  EXPECT_EQ(house.told("probe_fault").size(), 1U);
  EXPECT_EQ(house.view("probe_fault", "").says, "other implausible");
}

TEST(ProbeHealth, CountsJumpsOverARestart) {
  House house(with_probe_rule());
  house.celsius(0min, "bottom", 37.5);
  for (const int minute : {0, 1, 2})
    house.celsius(std::chrono::minutes{minute}, "top", minute % 2 == 0 ? 37.5 : 33.0);
  house.restart(2min, 30s);
  house.celsius(3min, "top", 33.0);
  EXPECT_EQ(house.told("probe_fault"), std::vector<std::string>{"3min raised"});
  house.restart(4min, 30s);
  EXPECT_TRUE(house.probe("top").left_out);
}

TEST(ProbeHealth, LeavesOutAProbeThatJumps) {
  House house(with_probe_rule());
  for (int minute = 0; minute <= 6; ++minute) {
    house.celsius(std::chrono::minutes{minute}, "top", minute % 2 == 0 ? 37.5 : 33.0);
    house.celsius(std::chrono::minutes{minute}, "bottom", 37.5 + 0.01 * (minute % 2));
  }
  EXPECT_EQ(house.told("probe_fault"), std::vector<std::string>{"3min raised"});
  EXPECT_TRUE(house.probe("top").left_out);
}

TEST(ProbeHealth, DoesNotAverageTwoThatDisagree) {
  Settings made = with_probe_rule();
  made.cabinets["a"].combine = Combine::mean;
  House house(made);
  house.celsius(1min, "top", 40.0);
  house.celsius(1min, "bottom", 36.0);
  // Their mean is 38.0, and nothing would be wrong.
  EXPECT_EQ(house.told("high").size(), 1U);
}

TEST(Confirm, WaitsForSoManyReadingsOfAProbe) {
  Settings made = farm();
  made.rules["spread"].off = true;
  made.rules["high"].early.confirm = 3;
  House house(made);
  house.celsius(1min, "top", 37.5);
  house.celsius(1min, "bottom", 37.5);
  house.celsius(2min, "top", 40.2);
  for (int second = 0; second < 50; second += 10)  // the others confirm nothing
    house.celsius(2min + std::chrono::seconds{second}, "bottom", 37.5);
  house.celsius(3min, "top", 37.5);
  EXPECT_TRUE(house.told("high").empty());
  for (const int minute : {4, 5, 6}) house.celsius(std::chrono::minutes{minute}, "top", 40.2);
  EXPECT_EQ(house.told("high"), std::vector<std::string>{"6min raised"});
}

// Air that steps from 37.5 to 39.5 with a time constant of 52 min: the egg is past 38.5 after
// 52 x ln 2 = 36.04 min (the closed form of a first-order lag).
TEST(Egg, FollowsTheAirWithItsTimeConstant) {
  Settings made = farm();
  RulePatch& eggs = made.rules["egg_hot"] = rule(RuleKind::above);
  eggs.quantity = Quantity::egg;
  eggs.offset = 1'000;
  eggs.early.lag = 52min;
  House house(made);
  for (int minute = 0; minute <= 200; ++minute)
    house.celsius(std::chrono::minutes{minute}, "top", 37.5);
  house.celsius(200min, "top", 39.5);
  for (int minute = 201; minute <= 260; ++minute)
    house.celsius(std::chrono::minutes{minute}, "top", 39.5);
  EXPECT_EQ(house.told("egg_hot"), std::vector<std::string>{"3h 57min raised"});
}

TEST(Egg, SaysNothingWhileItIsAGuess) {
  Settings made = farm();
  RulePatch& eggs = made.rules["egg_hot"] = rule(RuleKind::above);
  eggs.quantity = Quantity::egg;
  eggs.offset = 1'000;
  eggs.early.lag = 52min;
  House house(made);
  for (int minute = 0; minute <= 160; ++minute)
    house.celsius(std::chrono::minutes{minute}, "top", 39.0);
  // Three time constants: 156 min.
  EXPECT_EQ(house.told("egg_hot"), std::vector<std::string>{"2h 36min raised"});
}

// The estimate goes on as if there had been no restart: the same minute, worked out as above.
TEST(Egg, GoesOnOverARestart) {
  Settings made = farm();
  RulePatch& eggs = made.rules["egg_hot"] = rule(RuleKind::above);
  eggs.quantity = Quantity::egg;
  eggs.offset = 1'000;
  eggs.early.lag = 52min;
  for (const int at : {100, 170, 215, 230}) {
    House house(made);
    for (int minute = 0; minute <= 260; ++minute) {
      house.celsius(std::chrono::minutes{minute}, "top", minute <= 200 ? 37.5 : 39.5);
      if (minute == 200) house.celsius(200min, "top", 39.5);
      if (minute == at) house.restart(std::chrono::minutes{minute}, 20s);
    }
    EXPECT_EQ(house.told("egg_hot"), std::vector<std::string>{"3h 57min raised"}) << at;
  }
}

TEST(AllSilent, IsToldOnceWithTheList) {
  Settings made = farm();
  made.rules["together"] = rule(RuleKind::all_silent);
  House house(made);
  house.say(1min, "a/top/temperature", "37.5");
  house.say(2min, "b/top/temperature", "37.5");
  house.say(3min, "a/top/temperature", "37.5");
  house.until(20min);
  EXPECT_EQ(house.told("together"), std::vector<std::string>{"8min raised"});
  const auto site = house.engine().find({"", "", "together"});
  ASSERT_TRUE(site);
  EXPECT_EQ(
      site->says,
      "2 cabinets, none of them heard: b, a; the first to fall silent was b at 08:02; the broker "
      "answers, so look at the gateway, the radio and the mains");
  EXPECT_EQ(house.view("silent", "").part_of, "all_silent");
  house.say(21min, "b/top/temperature", "37.5");
  EXPECT_EQ(house.told("together"), (std::vector<std::string>{"8min raised", "21min returned"}));
  EXPECT_EQ(house.view("silent", "").part_of, "");
}

TEST(AllSilent, OneCabinetAloneIsNotAll) {
  Settings made = farm();
  made.rules["together"] = rule(RuleKind::all_silent);
  House house(made);
  house.say(1min, "a/top/temperature", "37.5");
  house.until(60min);
  EXPECT_TRUE(house.told("together").empty());
}

// Sixty strangers under a wildcard pattern cannot outvote the cabinet's own probes where those are
// named.
TEST(Only, RefusesProbesThatAreNotNamed) {
  Settings made = farm();
  made.rules["spread"].off = true;
  made.rules["overheat"].off = true;
  made.cabinets["a"].only = {"top"};
  House house(made);
  for (int stranger = 0; stranger < 70; ++stranger)
    house.celsius(1min, "x" + std::to_string(stranger), 37.5);
  house.celsius(2min, "top", 39.8);
  EXPECT_EQ(house.told("high").size(), 1U);
  EXPECT_EQ(house.engine().view("a")->probes.size(), 1U);
}

}  // namespace
}  // namespace clutchward::bench
