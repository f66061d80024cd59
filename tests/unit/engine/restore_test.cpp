// Restart: an engine stopped at any second of a busy timeline and taken up again from what it kept
// tells exactly what the one that went on tells (alarm-semantics section 1, Restart).
#include <gtest/gtest.h>

#include "bench.h"

namespace clutchward {
namespace {

using namespace bench;

// Half an hour in which everything runs at once: delays both ways, snooze, hold of an
// acknowledgement, attending, out of service, cooling, silence, humidity, mains, turning.
const std::vector<Step>& timeline() {
  static const std::vector<Step> steps = [] {
    std::vector<Step> all;
    const auto add = [&](Step step) { all.push_back(std::move(step)); };
    for (Span t = 0s; t < 30min; t += 20s) {
      const bool silent = t >= 19min && t < 27min;
      const char* top = t < 2min    ? "37.5"
                        : t < 8min  ? "39.6"
                        : t < 12min ? "38.4"
                        : t < 17min ? "34.0"
                                    : "37.6";
      if (!silent) add(reading(t, "a/top/temperature", top));
      if (t < 16min) add(reading(t + 5s, "a/low/temperature", "37.4"));
      if (t >= 6min && t < 14min) add(reading(t + 7s, "a/top/humidity", t < 11min ? "70" : "50"));
    }
    add(reading(1min, "a/turned", "1"));
    add(reading(13min, "a/turned", "1"));
    add(reading(90s, "b/mains", "on"));
    add(reading(4min, "b/mains", "off"));
    add(reading(9min, "b/mains", "on"));
    add(reading(90s, "b/top/temperature", "41.5"));
    add(deed(3min + 1s, Deed::acknowledge, "high"));
    add(deed(3min + 30s, Deed::snooze, "hot", 1.0));
    add(deed(5min + 10s, Deed::snooze, "hot", 4.5, "c-1"));
    add(deed(5min + 40s, Deed::attend, "", 3));
    add(deed(9min + 50s, Deed::out_of_service, "warm", 2.5));
    add(deed(12min + 30s, Deed::attend, "", 1.5));
    add(deed(15min + 1s, Deed::reset));
    add(reading(16min + 2s, "a/cooling", "on"));
    add(reading(17min + 2s, "a/cooling", "off"));
    add(deed(28min, Deed::acknowledge));
    add(deed(28min + 1s, Deed::snooze, "hot", 4.5, "c-1"));
    std::stable_sort(all.begin(), all.end(),
                     [](const Step& x, const Step& y) { return x.after < y.after; });
    return all;
  }();
  return steps;
}

constexpr Span kEnd = 35min;

// The boot clock and the wall at `after`; a restarted machine has a boot clock of its own.
struct Clocks {
  Steady boot;
  Span booted{0};      // after the start
  Wall wall = kStart;  // at the start
  bool trusted = true;
  Moment at(Span after) const { return {boot + (after - booted), wall + after, trusted}; }
};

const Clocks kFirstBoot{Steady{500'000ms}};

struct Told {
  Span after{0};
  AlarmEvent event;
};

void note(Engine& engine, const Clocks& clocks, std::vector<Told>& told) {
  for (AlarmEvent& event : engine.take_events()) {
    const Span after = event.at - clocks.wall;
    event.at = {};
    told.push_back({after, event});
  }
}

// Plays what lies after `from` (a step at `from` itself has been played).
std::vector<Told> play(Engine& engine, const Clocks& clocks, Span from) {
  std::vector<Told> told;
  note(engine, clocks, told);
  for (const Step& step : timeline()) {
    if (step.after <= from) continue;
    apply(engine, step, clocks.at(step.after));
    note(engine, clocks, told);
  }
  engine.settle(clocks.at(kEnd));
  note(engine, clocks, told);
  return told;
}

std::string text(const std::vector<Told>& told) {
  std::string out;
  for (const Told& each : told) {
    const AlarmEvent& e = each.event;
    const auto number = [](std::optional<Milli> value) {
      return value ? milli_exact(*value) : "-";
    };
    out += std::to_string(each.after.count()) + " " + e.key.cabinet + "/" + e.key.batch + "/" +
           e.key.alarm + " " + std::string(name_of(e.kind)) + " " + number(e.value) + " " +
           number(e.limit) + " " + number(e.worst) + " " + e.by.value_or("-") + "\n";
  }
  return out;
}

std::string views(const Engine& engine, Wall base) {
  std::string out;
  for (const std::string& id : engine.cabinets()) {
    for (AlarmView view : engine.of_cabinet(id)) {
      const auto when = [&](std::optional<Wall> at) {
        return at ? std::to_string((*at - base).count()) : std::string("-");
      };
      out += id + "/" + view.key.batch + "/" + view.key.alarm + " " +
             std::string(name_of(view.state)) + " snoozed " + when(view.snoozed_until) +
             " raised " + when(view.raised_at) + " since " + when(view.since) + " by " +
             view.acknowledged_by + "\n";
    }
  }
  return out;
}

struct Whole {
  std::string told;   // after `from`
  std::string views;  // at the end
};

Whole restarted_at(Span stop, const Clocks& after_boot) {
  const Settings settings = bench::settings();
  Kept kept;
  {
    Engine engine(settings, Zone(), kFirstBoot.at(0s), true);
    engine.begin();
    for (const Step& step : timeline()) {
      if (step.after > stop) break;
      apply(engine, step, kFirstBoot.at(step.after));
    }
    engine.settle(kFirstBoot.at(stop));
    kept.take(engine);
  }
  Engine again(settings, Zone(), after_boot.at(stop), true);
  EXPECT_EQ(again.restore(kept.all(), kFirstBoot.at(stop).wall), std::vector<std::string>{});
  again.begin();
  const std::string told = text(play(again, after_boot, stop));
  return {told, views(again, after_boot.wall)};
}

Whole continued_from(Span stop) {
  const Settings settings = bench::settings();
  Engine engine(settings, Zone(), kFirstBoot.at(0s), true);
  engine.begin();
  for (const Step& step : timeline()) {
    if (step.after > stop) break;
    apply(engine, step, kFirstBoot.at(step.after));
  }
  engine.settle(kFirstBoot.at(stop));
  engine.take_events();
  const std::string told = text(play(engine, kFirstBoot, stop));
  return {told, views(engine, kStart)};
}

TEST(Restart, TheTimelineIsBusy) {
  const std::string told = continued_from(-1s).told;
  for (const char* word : {"raised ", "returned ", "acknowledged ", "raised_again ", "snoozed ",
                           "snooze_ended ", "reset ", "out_of_service ", "in_service "})
    EXPECT_NE(told.find(word), std::string::npos) << word << "\n" << told;
  for (const char* alarm : {"overheat", "high", "hot", "warm", "low", "silent", "blind", "spread",
                            "power", "turning", "damp"})
    EXPECT_NE(told.find(alarm), std::string::npos) << alarm << "\n" << told;
}

TEST(Restart, AtEachSecondWithATrustedWallClock) {
  for (Span stop = 0s; stop < 31min; stop += 1s) {
    const Clocks second{Steady{7'000ms}, stop};
    const Whole expected = continued_from(stop);
    const Whole found = restarted_at(stop, second);
    ASSERT_EQ(found.told, expected.told) << "stopped after " << to_text(stop);
    ASSERT_EQ(found.views, expected.views) << "stopped after " << to_text(stop);
  }
}

TEST(Restart, AtEachSecondWithAWallClockNotYetTrusted) {
  for (Span stop = 0s; stop < 31min; stop += 1s) {
    // A board without a clock wakes up in 1970.
    const Clocks second{Steady{7'000ms}, stop, Wall{3s}, false};
    const Whole expected = continued_from(stop);
    const Whole found = restarted_at(stop, second);
    ASSERT_EQ(found.told, expected.told) << "stopped after " << to_text(stop);
    ASSERT_EQ(found.views, expected.views) << "stopped after " << to_text(stop);
  }
}

// "After a restart each ends at its wall time": two minutes without power cost no alarm its hour.
TEST(Restart, TimeWithoutPowerCounts) {
  const Settings settings = bench::settings();
  Kept kept;
  {
    Engine engine(settings, Zone(), kFirstBoot.at(0s), true);
    engine.begin();
    apply(engine, reading(0s, "a/top/temperature", "38.4"), kFirstBoot.at(0s));
    engine.settle(kFirstBoot.at(1min));
    kept.take(engine);
  }
  const Clocks second{Steady{1s}, 3min};
  Engine again(settings, Zone(), second.at(3min), true);
  again.restore(kept.all(), kFirstBoot.at(1min).wall);
  again.begin();
  EXPECT_TRUE(again.take_events().empty());
  again.settle(second.at(5min));
  const auto events = again.take_events();
  bool warm = false;
  for (const AlarmEvent& event : events)
    if (event.key.alarm == "warm") {
      warm = true;
      EXPECT_EQ(event.at, kStart + 5min) << "five minutes from when it turned true";
    }
  EXPECT_TRUE(warm);
}

// Two probes, of which the first that speaks after a crash knows nothing of the matter.
class Crash : public testing::Test {
 protected:
  Crash() {
    settings_.cabinets["a"].turner = false;
    for (const char* id : {"hot", "warm", "cool", "cool_long", "silent", "blind", "spread"})
      settings_.rules[id].off = true;
    engine_ = std::make_unique<Engine>(settings_, Zone(), kFirstBoot.at(0s), true);
    engine_->begin();
  }
  void play(std::initializer_list<Step> steps) {
    for (const Step& step : steps) {
      apply(*engine_, step, kFirstBoot.at(step.after));
      kept_.take_at_a_crash(*engine_);
    }
  }
  void crash(Span saved, Span back) {
    engine_ = std::make_unique<Engine>(settings_, Zone(), kFirstBoot.at(back), true);
    engine_->restore(kept_.all(), kFirstBoot.at(saved).wall);
    engine_->begin();
    EXPECT_TRUE(engine_->take_events().empty());
  }
  std::vector<EventKind> told(const std::string& alarm) {
    std::vector<EventKind> kinds;
    for (const AlarmEvent& event : engine_->take_events())
      if (event.key.alarm == alarm) kinds.push_back(event.kind);
    return kinds;
  }

  Settings settings_ = bench::settings();
  Kept kept_;
  std::unique_ptr<Engine> engine_;
};

TEST_F(Crash, LeavesAnAlarmWhoseProbeHasNotSpokenAgain) {
  play({reading(0s, "a/left/temperature", "37.5"), reading(1s, "a/right/temperature", "39.9")});
  EXPECT_EQ(told("high"), std::vector{EventKind::raised});
  crash(1s, 10s);
  play({reading(12s, "a/left/temperature", "37.5")});
  EXPECT_TRUE(told("high").empty());
  play({reading(14s, "a/right/temperature", "37.5")});
  EXPECT_EQ(told("high"), std::vector{EventKind::returned});
}

TEST_F(Crash, CostsADelayNothing) {
  play({reading(0s, "a/left/temperature", "37.5"), reading(1s, "a/right/temperature", "30.0")});
  crash(1s, 60s);
  play({reading(62s, "a/left/temperature", "37.5"), reading(64s, "a/right/temperature", "30.0")});
  engine_->settle(kFirstBoot.at(2min + 1s));
  const auto events = engine_->take_events();
  const auto low = std::find_if(events.begin(), events.end(),
                                [](const AlarmEvent& each) { return each.key.alarm == "low"; });
  ASSERT_NE(low, events.end());
  EXPECT_EQ(low->at, kStart + 2min + 1s);
}

TEST_F(Crash, HoursIntoAnAlarmItsReadingsAreThere) {
  play({reading(0s, "a/left/temperature", "37.5"), reading(1s, "a/right/temperature", "39.9")});
  EXPECT_EQ(told("high"), std::vector{EventKind::raised});
  const Span late = 3h;
  play({reading(late, "a/left/temperature", "37.5"),
        reading(late + 1s, "a/right/temperature", "39.9")});
  engine_->keep_readings_of_alarms();
  kept_.take_at_a_crash(*engine_);
  told("high");
  crash(late + 1s, late + 10s);
  play({reading(late + 12s, "a/left/temperature", "37.5")});
  EXPECT_TRUE(told("high").empty());
}

// ... and without trust in the wall clock what was left at the last save goes on.
TEST(Restart, TimeWithoutPowerIsNotKnownToAnUntrustedClock) {
  const Settings settings = bench::settings();
  Kept kept;
  {
    Engine engine(settings, Zone(), kFirstBoot.at(0s), true);
    engine.begin();
    apply(engine, reading(0s, "a/top/temperature", "38.4"), kFirstBoot.at(0s));
    engine.settle(kFirstBoot.at(1min));
    kept.take(engine);
  }
  const Clocks second{Steady{1s}, 3min, Wall{0s}, false};
  Engine again(settings, Zone(), second.at(3min), true);
  again.restore(kept.all(), kFirstBoot.at(1min).wall);
  again.begin();
  again.settle(second.at(7min));
  for (const AlarmEvent& event : again.take_events())
    if (event.key.alarm == "warm") {
      EXPECT_EQ(event.at, Wall{0s} + 7min) << "four minutes were left";
    }
  ASSERT_TRUE(again.find({"a", "hens", "warm"}));
  EXPECT_TRUE(again.find({"a", "hens", "warm"})->active);
}

TEST(Restart, WhatWallTimeBeganIsNotTakenBack) {
  Settings settings = bench::settings();
  Stage lockdown = settings.profiles["bench"].stages[0];
  lockdown.name = "lockdown";
  lockdown.from = 48h;
  lockdown.target = 36'500;
  settings.profiles["bench"].stages.push_back(lockdown);
  Kept kept;
  {
    Engine engine(settings, Zone(), kFirstBoot.at(0s), true);
    engine.begin();
    ASSERT_EQ(engine.view("a")->batches[0].stage, "lockdown");
    kept.take(engine);
    // A step back of the wall clock.
    Moment back = kFirstBoot.at(1min);
    back.wall -= 72h;
    engine.settle(back);
    EXPECT_EQ(engine.view("a")->batches[0].stage, "lockdown");
    EXPECT_TRUE(engine.view("a")->batches[0].set);
  }
  for (const bool trusted : {true, false}) {
    Engine again(settings, Zone(), {Steady{1s}, kStart - 72h, trusted}, true);
    again.restore(kept.all(), kStart);
    again.begin();
    EXPECT_EQ(again.view("a")->batches[0].stage, "lockdown");
    EXPECT_TRUE(again.view("a")->batches[0].set);
  }
}

// A new configuration that takes a rule out makes its active alarm return, also where it came while
// the daemon was down; what a person said of it stays.
TEST(Restart, RuleGoneMeanwhileReturns) {
  Settings settings = bench::settings();
  Kept kept;
  {
    Engine engine(settings, Zone(), kFirstBoot.at(0s), true);
    engine.begin();
    apply(engine, reading(0s, "a/top/temperature", "39.6"), kFirstBoot.at(0s));
    apply(engine, deed(1s, Deed::out_of_service, "warm", 30), kFirstBoot.at(1s));
    kept.take(engine);
  }
  settings.rules["high"] = settings.rules["warm"] = {};
  settings.rules["high"].off = settings.rules["warm"].off = true;
  Engine again(settings, Zone(), kFirstBoot.at(10s), true);
  again.restore(kept.all(), kFirstBoot.at(1s).wall);
  again.begin();
  const auto events = again.take_events();
  ASSERT_EQ(events.size(), 1u);
  EXPECT_EQ(events[0].key, (AlarmKey{"a", "hens", "high"}));
  EXPECT_EQ(events[0].kind, EventKind::returned);
  EXPECT_EQ(events[0].limit, 39'500);
  EXPECT_EQ(again.find({"a", "hens", "high"})->state, AlarmState::latched);
  EXPECT_EQ(again.find({"a", "hens", "warm"})->state, AlarmState::out_of_service);
}

TEST(Restart, StrangeTreesAreNamedAndLeftOut) {
  Engine engine(bench::settings(), Zone(), kFirstBoot.at(0s), true);
  Tree junk = Tree::map();
  junk.add("alarms", "not a map");
  junk.add("temperature", Tree::list());
  junk.add("known_at", "yesterday");
  Tree batch = Tree::map();
  batch.add("profile", "no such");
  const auto findings = engine.restore({{"cabinets/a", junk},
                                        {"cabinets/bad id", junk},
                                        {"batches/ghost", batch},
                                        {"elsewhere/x", junk}},
                                       kStart);
  EXPECT_EQ(findings.size(), 2u);
  engine.begin();
  apply(engine, reading(1s, "a/top/temperature", "39.6"), kFirstBoot.at(1s));
  EXPECT_FALSE(engine.take_events().empty()) << "the rest is watched";
}

}  // namespace
}  // namespace clutchward
