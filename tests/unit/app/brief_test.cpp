// A cabinet in brief says the same as its whole view, alarm by alarm; and the rules in force are
// those that the alarms stand for, each with an origin.
#include <gtest/gtest.h>

#include <set>

#include "../engine/bench.h"
#include "web/standing.h"

namespace clutchward {
namespace {

using namespace bench;

void same_in_brief(const Engine& engine, const char* when) {
  const auto briefs = engine.briefs();
  EXPECT_EQ(briefs.size(), engine.cabinets().size());
  for (const CabinetBrief& brief : briefs) {
    const auto view = engine.view(brief.id);
    ASSERT_TRUE(view) << brief.id;
    EXPECT_EQ(brief, brief_of(*view)) << when << ", cabinet " << brief.id;
  }
}

TEST(Brief, SaysTheSameAsTheView) {
  const Moment start{Steady{500'000ms}, kStart, true};
  Engine engine(settings(), Zone(), start, true);
  engine.begin();
  const auto at = [&](Span after) { return Moment{start.steady + after, kStart + after, true}; };
  same_in_brief(engine, "before any reading");
  engine.message("farm/a/top/temperature", "37.5", false, at(1s));
  engine.message("farm/b/top/temperature", "20", false, at(2s));
  same_in_brief(engine, "all well");
  engine.message("farm/a/top/temperature", "39.9", false, at(10s));
  same_in_brief(engine, "raised");
  EXPECT_EQ(standing_of(engine.briefs()[0].id == "a" ? engine.briefs()[0] : engine.briefs()[1]),
            Standing::needs_you);
  Command snooze;
  snooze.deed = Deed::snooze;
  snooze.cabinet = "a";
  snooze.alarm = "high";
  EXPECT_TRUE(engine.command(snooze, false, at(20s)).ok);
  same_in_brief(engine, "snoozed");
  Command attend;
  attend.deed = Deed::attend;
  attend.cabinet = "b";
  EXPECT_TRUE(engine.command(attend, false, at(30s)).ok);
  same_in_brief(engine, "attended");
  engine.message("farm/a/top/temperature", "37.5", false, at(40s));
  engine.settle(at(20min));
  same_in_brief(engine, "latched, and long silent");
}

TEST(Brief, RulesInForceAreThoseOfTheAlarms) {
  const Moment start{Steady{500'000ms}, kStart, true};
  Engine engine(settings(), Zone(), start, true);
  engine.begin();
  engine.message("farm/a/top/temperature", "37.5", false, start);
  const auto view = engine.view("a");
  std::set<std::pair<std::string, std::string>> alarms;
  for (const AlarmView& alarm : view->alarms) alarms.insert({alarm.key.batch, alarm.key.alarm});
  std::set<std::pair<std::string, std::string>> rules;
  for (const RuleInForce& rule : engine.rules_of("a")) {
    rules.insert({rule.batch, rule.rule.id});
    EXPECT_FALSE(rule.from.empty()) << rule.rule.id;
    if (rule.rule.id == "high") {
      EXPECT_EQ(rule.limit, 39'500);
    }
    if (rule.rule.id == "low") {
      EXPECT_EQ(rule.from.back(), (RuleOrigin{"configuration", {"delay"}}));
    }
  }
  EXPECT_EQ(rules, alarms);
  EXPECT_TRUE(engine.rules_of("nowhere").empty());
  EXPECT_EQ(engine.profiles(),
            (std::vector<std::pair<std::string, std::string>>{{"bench", "Domestic hen"}}));
}

}  // namespace
}  // namespace clutchward
