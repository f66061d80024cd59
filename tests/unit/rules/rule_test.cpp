// The layers of rules laid over each other (alarm-semantics section 7), and the built-in ladder.
#include "rules/rule.h"

#include <gtest/gtest.h>

namespace clutchward {
namespace {

using namespace std::chrono_literals;

const Rule* find(const std::vector<Rule>& rules, const std::string& id) {
  for (const Rule& rule : rules)
    if (rule.id == id) return &rule;
  return nullptr;
}

std::vector<Rule> resolve(std::vector<RulePatches> layers) {
  std::vector<const RulePatches*> all{&built_in_rules()};
  for (const RulePatches& layer : layers) all.push_back(&layer);
  return resolve_rules(all);
}

RulePatch off() {
  RulePatch patch;
  patch.off = true;
  return patch;
}
RulePatch offset(Milli value) {
  RulePatch patch;
  patch.offset = value;
  return patch;
}
RulePatch limit(Milli value) {
  RulePatch patch;
  patch.limit = value;
  return patch;
}

TEST(BuiltInRules, TheLadderOfSectionSeven) {
  struct Row {
    const char* id;
    RuleKind kind;
    std::optional<Milli> limit, offset;
    Span delay;
    Priority priority;
    bool latch, machine;
    Span warm_up;
  };
  using enum RuleKind;
  using enum Priority;
  const Row rows[] = {{"overheat", above, 41'000, {}, 0s, high, true, true, 3h},
                      {"high", above, {}, 2'000, 0s, high, true, false, 3h},
                      {"hot", above, {}, 1'400, 10min, high, true, false, 3h},
                      {"warm", above, {}, 800, 60min, medium, false, false, 3h},
                      {"cool", below, {}, 1'400, 2h, medium, false, false, 8h},
                      {"cool_long", below, {}, 1'400, 6h, high, true, false, 8h},
                      {"low", below, {}, 3'000, 60min, high, true, false, 3h},
                      {"silent", silent, {}, {}, 0s, medium, false, true, 3h},
                      {"blind", silent, {}, {}, 0s, high, true, true, 3h},
                      {"spread", spread, 1'500, {}, 30min, medium, false, true, 3h},
                      {"power", power, {}, {}, 30s, medium, true, true, 3h},
                      {"turning", turning, {}, {}, 0s, medium, true, false, 3h},
                      {"broker", broker, {}, {}, 0s, high, false, false, 3h},
                      {"cooling", cooling, {}, {}, 0s, medium, true, false, 3h},
                      {"airing_lid", lid, {}, {}, 0s, medium, false, false, 3h}};
  const auto rules = resolve({});
  EXPECT_EQ(rules.size(), std::size(rows) + 2);  // and the two beside the stage's humidity band
  for (const Row& row : rows) {
    SCOPED_TRACE(row.id);
    const Rule* rule = find(rules, row.id);
    ASSERT_NE(rule, nullptr);
    EXPECT_EQ(rule->kind, row.kind);
    EXPECT_EQ(rule->limit, row.limit);
    EXPECT_EQ(rule->offset, row.offset);
    EXPECT_EQ(rule->delay, row.delay);
    EXPECT_EQ(rule->clear_delay, 0s);
    EXPECT_EQ(rule->priority, row.priority);
    EXPECT_EQ(rule->latch, row.latch);
    EXPECT_EQ(rule->machine, row.machine);
    EXPECT_EQ(rule->warm_up, row.warm_up);
    EXPECT_EQ(rule->deadband, 200);
    EXPECT_EQ(rule->snooze_max, 2h);
    const bool compares = row.kind == above || row.kind == below;
    EXPECT_EQ(rule->worse_by, compares ? std::optional<Milli>(1000) : std::nullopt);
  }
  for (const char* id : {"damp_air", "dry_air"}) {
    const Rule* rule = find(rules, id);
    ASSERT_NE(rule, nullptr);
    EXPECT_TRUE(is_band_rule(*rule));
    EXPECT_EQ(rule->average, 30min);
    EXPECT_EQ(rule->priority, low);  // never more urgent than heat
    EXPECT_FALSE(rule->latch);
    EXPECT_EQ(rule->warm_up, 8h);
  }
  EXPECT_EQ(find(rules, "cooling")->fall, 1000);
  EXPECT_EQ(find(rules, "silent")->after, 5min);
  EXPECT_EQ(find(rules, "blind")->after, 20min);
  EXPECT_EQ(find(rules, "broker")->after, 2min);
  EXPECT_EQ(find(rules, "turning")->missed, 3);
  EXPECT_EQ(find(rules, "power")->high_after, 10min);
}

TEST(ResolveRules, SortedById) {
  RulePatch own;
  own.kind = RuleKind::still;
  const auto rules = resolve({{{"Zeta", own}, {"alpha", own}}});
  for (std::size_t i = 1; i < rules.size(); ++i) EXPECT_LT(rules[i - 1].id, rules[i].id);
  EXPECT_EQ(rules.front().id, "Zeta") << "ids compare as bytes";
}

TEST(ResolveRules, LaterLayersOverEarlierByKey) {
  RulePatch site = offset(1'000);
  site.latch = false;
  RulePatch profile;
  profile.delay = 2min;
  RulePatch batch;
  batch.delay = 3min;
  const auto rules = resolve({{{"hot", site}}, {{"hot", profile}}, {{"hot", batch}}});
  const Rule* hot = find(rules, "hot");
  ASSERT_NE(hot, nullptr);
  EXPECT_EQ(hot->offset, 1'000);
  EXPECT_FALSE(hot->latch);
  EXPECT_EQ(hot->delay, 3min);
  EXPECT_EQ(hot->priority, Priority::high) << "unsaid: as built in";
}

TEST(ResolveRules, OffIsTheLastWord) {
  EXPECT_EQ(find(resolve({{{"hot", off()}}}), "hot"), nullptr);
  EXPECT_EQ(find(resolve({{{"hot", offset(1'000)}}, {{"hot", off()}}}), "hot"), nullptr);
}

TEST(ResolveRules, KeysAfterOffBringBackTheBuiltInValues) {
  RulePatch delay;
  delay.delay = 1min;
  const auto rules = resolve({{{"hot", offset(1'000)}}, {{"hot", off()}}, {{"hot", delay}}});
  const Rule* hot = find(rules, "hot");
  ASSERT_NE(hot, nullptr);
  EXPECT_EQ(hot->offset, 1'400) << "not the site's 1.0";
  EXPECT_EQ(hot->delay, 1min);
}

TEST(ResolveRules, LimitAndOffsetTakeEachOtherAway) {
  const auto limited = resolve({{{"high", limit(39'000)}}});
  EXPECT_EQ(find(limited, "high")->limit, 39'000);
  EXPECT_EQ(find(limited, "high")->offset, std::nullopt);
  const auto back = resolve({{{"high", limit(39'000)}}, {{"high", offset(500)}}});
  EXPECT_EQ(find(back, "high")->limit, std::nullopt);
  EXPECT_EQ(find(back, "high")->offset, 500);
}

TEST(ResolveRules, WhatARuleOfOnesOwnLeavesOut) {
  RulePatch own = limit(39'000);
  own.kind = RuleKind::above;
  RulePatch damp = limit(65'000);
  damp.kind = RuleKind::above;
  damp.quantity = Quantity::humidity;
  RulePatch quiet;
  quiet.kind = RuleKind::silent;
  const auto rules = resolve({{{"own", own}, {"damp", damp}, {"quiet", quiet}, {"kindless", {}}}});
  const Rule* rule = find(rules, "own");
  ASSERT_NE(rule, nullptr);
  EXPECT_EQ(rule->delay, 0s);
  EXPECT_EQ(rule->clear_delay, 0s);
  EXPECT_EQ(rule->deadband, 200);
  EXPECT_TRUE(rule->latch);
  EXPECT_EQ(rule->snooze_max, 2h);
  EXPECT_EQ(rule->priority, Priority::medium);
  EXPECT_EQ(rule->warm_up, 3h);
  EXPECT_EQ(rule->worse_by, 1000);
  EXPECT_EQ(rule->quantity, Quantity::temperature);
  EXPECT_EQ(rule->acknowledge_holds, 4h);
  EXPECT_FALSE(rule->machine);
  EXPECT_EQ(find(rules, "damp")->warm_up, 8h) << "humidity warms up for 8 h";
  EXPECT_FALSE(find(rules, "quiet")->latch);
  EXPECT_TRUE(find(rules, "quiet")->machine);
  EXPECT_EQ(find(rules, "kindless"), nullptr) << "config/ has reported it";
}

TEST(ResolveRules, AcknowledgementHoldsByPriorityOrAsSaid) {
  const auto holds = [](Priority priority, std::optional<SpanOrOff> said) {
    RulePatch patch;
    patch.priority = priority;
    patch.acknowledge_holds = said;
    return find(resolve({{{"hot", patch}}}), "hot")->acknowledge_holds;
  };
  EXPECT_EQ(holds(Priority::high, {}), 30min);
  EXPECT_EQ(holds(Priority::medium, {}), 4h);
  EXPECT_EQ(holds(Priority::low, {}), std::nullopt);
  EXPECT_EQ(holds(Priority::low, SpanOrOff{90min}), 90min);
  EXPECT_EQ(holds(Priority::high, SpanOrOff{}), std::nullopt);
}

TEST(MachineRules, TheNamedOnesAndTheirKinds) {
  using enum RuleKind;
  EXPECT_TRUE(is_machine_rule("overheat", above, {}));
  EXPECT_FALSE(is_machine_rule("high", above, {}));
  EXPECT_TRUE(is_machine_rule("own", above, true));
  for (const RuleKind kind : {silent, spread, power}) EXPECT_TRUE(is_machine_rule("own", kind, {}));
  for (const RuleKind kind : {turning, still}) EXPECT_FALSE(is_machine_rule("own", kind, {}));
  EXPECT_TRUE(is_site_rule(broker));
  EXPECT_FALSE(is_site_rule(silent));
}

}  // namespace
}  // namespace clutchward
