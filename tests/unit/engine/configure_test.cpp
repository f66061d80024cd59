// A new configuration while the engine runs, the broker's link, and what only a program can ask.
#include <gtest/gtest.h>

#include "base/limits.h"
#include "bench.h"

namespace clutchward {
namespace {

using namespace bench;

Moment at(Span after, bool trusted = true) {
  return {Steady{500'000ms} + after, kStart + after, trusted};
}

std::vector<std::string> told(Engine& engine) {
  std::vector<std::string> all;
  for (const AlarmEvent& event : engine.take_events())
    all.push_back(event.key.cabinet + "/" + event.key.batch + "/" + event.key.alarm + " " +
                  std::string(name_of(event.kind)));
  return all;
}
using Lines = std::vector<std::string>;

// Only the named rules, so that each test sees its own.
Settings only(std::initializer_list<const char*> kept) {
  Settings made = bench::settings();
  for (const auto& [id, unused] : built_in_rules())
    if (std::find(kept.begin(), kept.end(), id) == kept.end()) {
      made.rules[id] = {};
      made.rules[id].off = true;
    }
  made.rules.erase("damp");
  return made;
}

TEST(Configure, RuleTakenOutReturnsAndRuleBroughtBackIsJudged) {
  const Settings with = only({"high"});
  const Settings without = only({});
  Engine engine(with, Zone(), at(0s), true);
  engine.begin();
  apply(engine, reading(0s, "a/top/temperature", "39.6"), at(0s));
  EXPECT_EQ(told(engine), (Lines{"a/hens/high raised"}));
  engine.configure(without, Zone(), at(1s));
  EXPECT_EQ(told(engine), (Lines{"a/hens/high returned"}));
  EXPECT_EQ(engine.find({"a", "hens", "high"})->state, AlarmState::latched);
  engine.configure(with, Zone(), at(2s));
  EXPECT_EQ(told(engine), (Lines{"a/hens/high raised"}));
}

TEST(Configure, ChangedDelayCountsFromWhenTheConditionTurnedTrue) {
  Settings settings = only({"hot"});
  settings.rules["hot"].delay = 10min;
  Engine engine(settings, Zone(), at(0s), true);
  engine.begin();
  apply(engine, reading(0s, "a/top/temperature", "39.0"), at(0s));
  settings.rules["hot"].delay = 4min;
  engine.configure(settings, Zone(), at(2min));
  engine.settle(at(4min - 1ms));
  EXPECT_EQ(told(engine), Lines{});
  engine.settle(at(4min));
  EXPECT_EQ(told(engine), (Lines{"a/hens/hot raised"}));
  apply(engine, reading(5min, "a/top/temperature", "37.5"), at(5min));
  apply(engine, reading(6min, "a/top/temperature", "39.0"), at(6min));
  told(engine);
  settings.rules["hot"].delay = 1min;
  engine.configure(settings, Zone(), at(8min));
  EXPECT_EQ(told(engine), (Lines{"a/hens/hot raised"})) << "at once where it has passed";
}

TEST(Configure, EveryCabinetInTheOrderOfIds) {
  Settings settings = only({});
  settings.batches.clear();
  Engine engine(settings, Zone(), at(0s), true);
  engine.begin();
  for (const char* id : {"z", "b", "B", "c"})
    apply(engine, reading(0s, std::string(id) + "/top/temperature", "42"), at(0s));
  told(engine);
  settings.rules.erase("overheat");
  engine.configure(settings, Zone(), at(1s));
  EXPECT_EQ(told(engine), (Lines{"B//overheat raised", "b//overheat raised", "c//overheat raised",
                                 "z//overheat raised"}));
}

// A cooling window that the new configuration no longer has must not stay open for ever.
TEST(Configure, WindowTakenAwayClosesIt) {
  Settings settings = only({"low"});
  settings.rules["low"].delay = 0ms;
  settings.profiles["bench"].stages[0].cooling = {{8h, 12h}};
  Engine engine(settings, Zone(), at(0s), true);
  engine.begin();
  apply(engine, reading(1s, "a/top/temperature", "34.0"), at(1s));
  EXPECT_EQ(engine.find({"a", "hens", "low"})->suppressed_for, (Lines{"cooling"}));
  settings.profiles["bench"].stages[0].cooling.clear();
  engine.configure(settings, Zone(), at(1min));
  EXPECT_EQ(told(engine), Lines{}) << "its recovery runs";
  apply(engine, reading(4min, "a/top/temperature", "34.0"), at(4min));
  engine.settle(at(5min));
  EXPECT_EQ(told(engine), (Lines{"a/hens/low raised"})) << "four minutes of recovery have passed";
}

TEST(Configure, BatchNoLongerThereEnds) {
  Settings settings = only({"high"});
  Engine engine(settings, Zone(), at(0s), true);
  engine.begin();
  apply(engine, reading(0s, "a/top/temperature", "39.6"), at(0s));
  told(engine);
  settings.batches.clear();
  engine.configure(settings, Zone(), at(1s));
  EXPECT_EQ(told(engine), (Lines{"a/hens/high returned"}));
  apply(engine, reading(2s, "a/top/temperature", "41"), at(2s));
  EXPECT_EQ(told(engine), Lines{});
}

TEST(Link, SilenceAndTurningWaitAfterTheBrokerCameBack) {
  Settings settings = only({"silent", "turning"});
  Engine engine(settings, Zone(), at(0s), true);
  engine.begin();
  engine.link(false, at(1min));
  engine.settle(at(30min));
  EXPECT_EQ(told(engine), Lines{}) << "broker_lost suppresses both";
  EXPECT_EQ(engine.find({"a", "", "silent"})->state, AlarmState::suppressed);
  engine.link(true, at(30min));
  engine.settle(at(33min - 1ms));
  EXPECT_EQ(told(engine), Lines{});
  engine.settle(at(33min));
  EXPECT_EQ(told(engine), (Lines{"a//silent raised", "b//silent raised"})) << "`after` is 3 min";
  engine.settle(at(39min - 1ms));
  EXPECT_EQ(told(engine), Lines{});
  engine.settle(at(39min));
  EXPECT_EQ(told(engine), (Lines{"a/hens/turning raised"})) << "3 x 3 min from the connection";
}

TEST(Link, ThatBlinksAgainAndAgainDoesNotPutASilenceOffForEver) {
  Engine engine(only({"silent"}), Zone(), at(0s), true);
  engine.begin();
  for (int i = 0; i < 4; ++i) {
    const Span from = i * 2min;
    engine.link(false, at(from + 110s));
    engine.link(true, at(from + 2min));
    apply(engine, reading(from + 2min, "b/top/temperature", "37.5"), at(from + 2min));
    engine.settle(at(from + 149s));
    EXPECT_EQ(told(engine), Lines{}) << i;
  }
  // `after` is 3 min, and the link was up for 110 s of each two minutes since the first blink.
  engine.settle(at(8min + 30s - 1ms));
  EXPECT_EQ(told(engine), Lines{});
  engine.settle(at(8min + 30s));
  EXPECT_EQ(told(engine), (Lines{"a//silent raised"})) << "b is heard";
  engine.link(false, at(9min));
  engine.link(true, at(9min + 10s));
  EXPECT_TRUE(engine.find({"a", "", "silent"})->active);
}

TEST(Link, ATurnEndsTheWaitOfTurning) {
  Settings settings = only({"turning"});
  Engine engine(settings, Zone(), at(0s), true);
  engine.begin();
  engine.link(false, at(1min));
  engine.link(true, at(2min));
  apply(engine, reading(3min, "a/turned", "1"), at(3min));
  EXPECT_TRUE(engine.find({"a", "hens", "turning"})->suppressed_for.empty());
  engine.settle(at(12min));
  EXPECT_EQ(told(engine), (Lines{"a/hens/turning raised"}));
}

TEST(Link, TheSiteTellsOfItsBroker) {
  Engine engine(only({"broker"}), Zone(), at(0s), true);
  engine.begin();
  engine.link(false, at(1min));
  engine.settle(at(3min - 1ms));
  EXPECT_EQ(told(engine), Lines{});
  engine.settle(at(3min));
  EXPECT_EQ(told(engine), (Lines{"//broker raised"}));
  engine.link(true, at(4min));
  EXPECT_EQ(told(engine), (Lines{"//broker returned"}));
}

TEST(Episode, AnAnswerToAnOlderOneIsRefused) {
  Engine engine(only({"high"}), Zone(), at(0s), true);
  engine.begin();
  apply(engine, reading(0s, "a/top/temperature", "39.6"), at(0s));
  const std::string first = engine.find({"a", "hens", "high"})->episode;
  EXPECT_FALSE(first.empty());
  apply(engine, reading(1min, "a/top/temperature", "37.5"), at(1min));
  apply(engine, reading(2min, "a/top/temperature", "39.6"), at(2min));
  const std::string second = engine.find({"a", "hens", "high"})->episode;
  EXPECT_NE(first, second) << "never the same twice";
  Command command = deed(3min, Deed::acknowledge, "high").command;
  command.episode = first;
  EXPECT_EQ(engine.command(command, false, at(3min)).why,
            "raised anew since that message: answer the newer one");
  command.episode = second;
  EXPECT_TRUE(engine.command(command, false, at(3min)).ok);
}

TEST(Power, HighOnceItHasLasted) {
  Engine engine(only({"power"}), Zone(), at(0s), true);
  engine.begin();
  apply(engine, reading(0s, "a/mains", "off"), at(0s));
  engine.settle(at(10min - 1ms));
  EXPECT_EQ(engine.find({"a", "", "power"})->priority, Priority::medium);
  engine.settle(at(10min));
  EXPECT_EQ(engine.find({"a", "", "power"})->priority, Priority::high);
}

TEST(UntrustedClock, BatchesWaitForIt) {
  Engine engine(only({"high"}), Zone(), at(0s, false), true);
  engine.begin();
  apply(engine, reading(0s, "a/top/temperature", "39.6"), at(0s, false));
  EXPECT_EQ(told(engine), Lines{}) << "the batch is not set yet";
  engine.settle(at(1s, true));
  EXPECT_EQ(told(engine), (Lines{"a/hens/high raised"}));
}

TEST(Limits, ATopicForEachReadingIsNotRemembered) {
  Engine engine(only({}), Zone(), at(0s), true);
  engine.begin();
  const auto refused = [&] {
    for (const auto& [why, count] : engine.counts().rejected)
      if (why == "unknown_probe") return count;
    return std::uint64_t{0};
  };
  for (std::size_t i = 0; i < limits::kProbesPerCabinet; ++i)
    apply(engine, reading(0s, "a/probe" + std::to_string(i) + "/temperature", "37.5"), at(0s));
  EXPECT_EQ(engine.counts().accepted, limits::kProbesPerCabinet);
  apply(engine, reading(0s, "a/one-more/temperature", "37.5"), at(0s));
  EXPECT_EQ(refused(), 1U);
  EXPECT_EQ(engine.counts().accepted, limits::kProbesPerCabinet);
}

TEST(Limits, ANameThatCannotBeIsCountedAndNamed) {
  Engine engine(only({}), Zone(), at(0s), true);
  engine.begin();
  apply(engine, reading(0s, "set ter/top/temperature", "43"), at(0s));
  EXPECT_EQ(engine.counts().accepted, 0U);
  EXPECT_EQ(engine.counts().last_rejected,
            "the topic farm/set ter/top/temperature: bad_name: set ter names no cabinet or probe; "
            "expected 1 to 64 bytes without blanks");
}

TEST(Limits, CabinetsPastTheMostAreTurnedAway) {
  Settings settings = only({"overheat"});
  settings.max_cabinets = 3;
  Engine engine(settings, Zone(), at(0s), true);
  engine.begin();
  apply(engine, reading(0s, "c/top/temperature", "42"), at(0s));
  apply(engine, reading(1s, "d/top/temperature", "42"), at(1s));
  EXPECT_EQ(told(engine), (Lines{"c//overheat raised"}));
  EXPECT_EQ(engine.counts().turned_away, 1u);
  EXPECT_EQ(engine.cabinets(), (Lines{"a", "b", "c"}));
}

}  // namespace
}  // namespace clutchward
