// What an on-delay does to chance: independent readings, each beyond the limit with probability p
// or q, through the real rule. Adnan, Izadi and Chen (2011, 2013; abstracts seen) treat false-alarm
// rate and detection delay with Markov chains; the figures here are the reference sheet's, from
// formulas derived there and confirmed by its own simulation of two million readings.
#include <gtest/gtest.h>

#include <cmath>
#include <random>
#include <string>

#include "engine/engine.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

constexpr Wall kStart{Span{1772352000000}};

// One rule on the machine, without a deadband: each reading decides. Readings come each minute; a
// delay of n - 1 minutes asks for n in a row, since a deadline waits for the reading of its time.
Settings with(int in_a_row, int clear_in_a_row) {
  Settings settings;
  settings.site = "Saltmere";
  TopicPattern pattern;
  pattern.topic = "farm/{cabinet}/{probe}/temperature";
  pattern.quantity = Quantity::temperature;
  settings.patterns = {pattern};
  for (const char* off : {"overheat", "silent", "blind", "spread", "power"})
    settings.rules[off].off = true;
  RulePatch& rule = settings.rules["noise"];
  rule.kind = RuleKind::above;
  rule.machine = true;
  rule.limit = 38'000;
  rule.deadband = 0;
  rule.latch = false;
  rule.worse_by = MilliOrOff{};
  rule.delay = (in_a_row - 1) * 1min;
  rule.clear_delay = (clear_in_a_row - 1) * 1min;
  return settings;
}

// Readings in alarm as a share of all, judged after each reading's own deadline.
double share_in_alarm(double p, int in_a_row, int clear_in_a_row, int readings) {
  const Settings settings = with(in_a_row, clear_in_a_row);
  Engine engine(settings, Zone(), {Steady{24h}, kStart, true}, true);
  engine.begin();
  std::mt19937_64 random(11);
  std::bernoulli_distribution beyond(p);
  int in_alarm = 0;
  bool active = false;
  for (int i = 0; i < readings; ++i) {
    const Moment now{Steady{24h} + i * 1min, kStart + i * 1min, true};
    engine.message("farm/a/top/temperature", beyond(random) ? "39" : "37", false, now);
    engine.settle(now);
    for (const AlarmEvent& event : engine.take_events()) {
      if (event.kind == EventKind::raised) active = true;
      if (event.kind == EventKind::returned) active = false;
    }
    engine.take_changes();
    in_alarm += active ? 1 : 0;
  }
  return static_cast<double>(in_alarm) / readings;
}

// p 0.1: 0.1, 0.01, 0.001 with one, two, three in a row. Tolerance: about four standard errors.
TEST(Delays, ThreeInARowAreAThousandth) {
  EXPECT_NEAR(share_in_alarm(0.1, 1, 1, 100'000), 0.1, 0.004);
  EXPECT_NEAR(share_in_alarm(0.1, 2, 1, 100'000), 0.01, 0.0014);
  EXPECT_NEAR(share_in_alarm(0.1, 3, 1, 200'000), 0.001, 0.0004);
}

// An off-delay of three raises the time in alarm to 0.003338.
TEST(Delays, AnOffDelayRaisesTheTimeInAlarm) {
  EXPECT_NEAR(share_in_alarm(0.1, 3, 3, 200'000), 0.003338, 0.001);
}

// Readings until three in a row are beyond, each with chance q 0.9: 3.7174 on average; two in a row
// 2.3457; with q 0.5 three in a row 14.0.
TEST(Delays, MeanWaitForSoManyInARow) {
  const auto mean = [](double q, int in_a_row) {
    const Settings settings = with(in_a_row, 1);
    Engine engine(settings, Zone(), {Steady{24h}, kStart, true}, true);
    engine.begin();
    std::mt19937_64 random(12);
    std::bernoulli_distribution beyond(q);
    constexpr int kRuns = 4'000;
    int minute = 0;
    int readings = 0;
    for (int run = 0; run < kRuns; ++run) {
      for (bool raised = false; !raised; ++minute) {
        const Moment now{Steady{24h} + minute * 1min, kStart + minute * 1min, true};
        engine.message("farm/a/top/temperature", beyond(random) ? "39" : "37", false, now);
        engine.settle(now);
        for (const AlarmEvent& event : engine.take_events())
          raised = raised || event.kind == EventKind::raised;
        ++readings;
      }
      // Back to normal before the next.
      const Moment now{Steady{24h} + minute * 1min, kStart + minute * 1min, true};
      engine.message("farm/a/top/temperature", "37", false, now);
      engine.settle(now);
      engine.take_events();
      engine.take_changes();
      ++minute;
    }
    return static_cast<double>(readings) / kRuns;
  };
  EXPECT_NEAR(mean(0.9, 3), 3.7174, 0.1);
  EXPECT_NEAR(mean(0.9, 2), 2.3457, 0.06);
  EXPECT_NEAR(mean(0.5, 3), 14.0, 0.8);
}

}  // namespace
}  // namespace clutchward
