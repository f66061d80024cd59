// The life of one alarm, cell by cell: every state by every input of alarm-semantics section 5, and
// the delays of section 4. Where the published tables share a cell (OPC 10000-9 Table B.1
// and 5.8.5, RFC 8632, the transition table of open implementations citing ISA-18.2: all as seen in
// the reference sheet on alarm standards), the case says so.
#include "alarm/life.h"

#include <gtest/gtest.h>

#include <map>
#include <vector>

namespace clutchward {
namespace {

using namespace std::chrono_literals;

constexpr Steady kStart{Span{1'000'000}};
constexpr std::array<LifeInput, 12> kInputs = {
    LifeInput::on_delay_ends,  LifeInput::off_delay_ends,
    LifeInput::worse,          LifeInput::acknowledgement_ends,
    LifeInput::snooze_ends,    LifeInput::acknowledge,
    LifeInput::snooze,         LifeInput::unsnooze,
    LifeInput::pass_on,        LifeInput::reset,
    LifeInput::out_of_service, LifeInput::in_service};

Rule rule_with(bool latch) {
  Rule rule;
  rule.id = "high";
  rule.limit = 39'500;
  rule.latch = latch;
  rule.worse_by = 1000;
  rule.acknowledge_holds = 30min;
  return rule;
}

LifeContext at(const Rule& rule, Span since = 0s, Milli value = 39'600) {
  LifeContext context{.rule = rule, .now = {kStart + since, Wall{Span{5'000'000}} + since, true}};
  context.value = value;
  context.by = "mara";
  context.length = 30min;
  context.why = "cleaning";
  context.until = context.now.steady + 1h;
  return context;
}

// How a state is reached: by the table's own inputs, from normal.
std::unique_ptr<Life> life_after(const Rule& rule, const std::vector<LifeInput>& inputs) {
  auto life = std::make_unique<Life>();
  for (const LifeInput input : inputs) {
    if (input == LifeInput::on_delay_ends) life->condition = true;
    if (input == LifeInput::off_delay_ends) life->condition = false;
    EXPECT_TRUE(apply(input, *life, at(rule)));
  }
  return life;
}

// Everything that a refusal must leave alone.
auto everything(const Life& l) {
  return std::make_tuple(l.condition, l.active, l.acknowledged, l.latched, l.open, l.awaiting_value,
                         l.condition_from, l.due, l.held, l.returns, l.snoozed_until, l.holds_until,
                         l.raised_at, l.returned_at, l.episode, l.reference, l.worst,
                         l.pending_worst, l.acknowledged_by, l.snoozed_by,
                         l.out_of_service ? std::optional(*l.out_of_service) : std::nullopt);
}

struct State {
  const char* name;
  bool latch;
  std::vector<LifeInput> way;
  // One cell an input, in the order of kInputs: "event -> state", or "" for refused.
  std::array<const char*, 12> cells;
};

using enum LifeInput;

const std::vector<State>& states() {
  static const std::vector<State> all = {
      {"normal",
       true,
       {},
       {"raised -> unacknowledged", "", "", "", "", "", "", "", "", "",
        "out_of_service -> out_of_service", ""}},
      {"unacknowledged, latching",
       true,
       {on_delay_ends},
       {"", "returned -> latched", "worsened -> unacknowledged", "", "",
        "acknowledged -> acknowledged", "snoozed -> unacknowledged", "",
        "passed_on -> unacknowledged", "", "out_of_service -> out_of_service", ""}},
      {"unacknowledged",
       false,
       {on_delay_ends},
       {"", "returned -> returned", "worsened -> unacknowledged", "", "",
        "acknowledged -> acknowledged", "snoozed -> unacknowledged", "",
        "passed_on -> unacknowledged", "", "out_of_service -> out_of_service", ""}},
      {"acknowledged, latching",
       true,
       {on_delay_ends, acknowledge},
       {"", "returned -> latched", "worsened -> unacknowledged", "raised_again -> unacknowledged",
        "", "", "snoozed -> acknowledged", "", "", "", "out_of_service -> out_of_service", ""}},
      {"acknowledged",
       false,
       {on_delay_ends, acknowledge},
       {"", "returned -> normal", "worsened -> unacknowledged", "raised_again -> unacknowledged",
        "", "", "snoozed -> acknowledged", "", "", "", "out_of_service -> out_of_service", ""}},
      {"returned",
       false,
       {on_delay_ends, off_delay_ends},
       {"raised -> unacknowledged", "", "", "", "", "acknowledged -> normal", "", "", "",
        "reset -> normal", "out_of_service -> out_of_service", ""}},
      {"latched",
       true,
       {on_delay_ends, off_delay_ends},
       {"raised -> unacknowledged", "", "", "", "", "acknowledged -> latched", "", "", "",
        "reset -> normal", "out_of_service -> out_of_service", ""}},
      {"latched and acknowledged",
       true,
       {on_delay_ends, off_delay_ends, acknowledge},
       {"raised -> unacknowledged", "", "", "", "", "", "", "", "", "reset -> normal",
        "out_of_service -> out_of_service", ""}},
      {"snoozed",
       true,
       {on_delay_ends, snooze},
       {"", "returned -> latched", "worsened -> unacknowledged", "",
        "raised_again -> unacknowledged", "acknowledged -> acknowledged",
        "snoozed -> unacknowledged", "raised_again -> unacknowledged",
        "passed_on -> unacknowledged", "", "out_of_service -> out_of_service", ""}},
      {"snoozed and acknowledged",
       true,
       {on_delay_ends, acknowledge, snooze},
       {"", "returned -> latched", "worsened -> unacknowledged", "",
        "raised_again -> unacknowledged", "", "snoozed -> acknowledged",
        "raised_again -> unacknowledged", "", "", "out_of_service -> out_of_service", ""}},
      {"latched in a snooze",
       true,
       {on_delay_ends, snooze, off_delay_ends},
       {"raised -> unacknowledged", "", "", "", "snooze_ended -> latched",
        "acknowledged -> latched", "", "snooze_ended -> latched", "", "reset -> normal",
        "out_of_service -> out_of_service", ""}},
      // Published: out of service takes no acknowledgement, reset or shelf.
      {"out of service",
       true,
       {out_of_service},
       {nullptr, "", "", "", "", "", "", "", "", "", "out_of_service -> out_of_service",
        "in_service -> normal"}},
  };
  return all;
}

TEST(LifeTable, EveryCell) {
  for (const State& state : states()) {
    const Rule rule = rule_with(state.latch);
    for (std::size_t i = 0; i < kInputs.size(); ++i) {
      if (state.cells[i] == nullptr) continue;  // the engine never asks: no condition is followed
      SCOPED_TRACE(std::string(state.name) + ", input " + std::to_string(i));
      const auto life = life_after(rule, state.way);
      // An off-delay runs only while the condition is false.
      if (kInputs[i] == off_delay_ends) life->condition = false;
      const auto before = everything(*life);
      const auto event = apply(kInputs[i], *life, at(rule, 1min));
      std::string cell;
      if (event)
        cell = std::string(name_of(*event)) + " -> " +
               std::string(name_of(shown_state(life.get(), false)));
      EXPECT_EQ(cell, state.cells[i]);
      if (event) continue;
      EXPECT_EQ(everything(*life), before) << "a refusal changes nothing";
      EXPECT_FALSE(event.why().empty()) << "a refusal says why";
    }
  }
}

// OPC 10000-9 Table B.1 without the confirm step: NORM, UNACK, ACKED, NORM, UNACK, RTNUN, NORM; the
// alarm is kept (retain) while it is active or not acknowledged.
TEST(LifeTable, PublishedSequenceOfOpcB1) {
  const Rule rule = rule_with(false);
  Life life;
  std::vector<std::string> shown{std::string(name_of(shown_state(&life, false)))};
  std::vector<bool> retain{life.active || life.open};
  for (const LifeInput input :
       {on_delay_ends, acknowledge, off_delay_ends, on_delay_ends, off_delay_ends, acknowledge}) {
    ASSERT_TRUE(apply(input, life, at(rule)));
    shown.emplace_back(name_of(shown_state(&life, false)));
    retain.push_back(life.active || life.open);
  }
  EXPECT_EQ(shown, (std::vector<std::string>{"normal", "unacknowledged", "acknowledged", "normal",
                                             "unacknowledged", "returned", "normal"}));
  EXPECT_EQ(retain, (std::vector<bool>{false, true, true, false, true, true, false}));
}

// Acknowledge x latch x condition (reference sheet 6.2, a controller manual): whether the alarm is
// still on and what a person still owes.
TEST(LifeTable, PublishedDutiesOfAcknowledgeLatchCondition) {
  struct Row {
    bool acked, latch, condition;
    const char* state;
    bool resettable;
  };
  const Row rows[] = {
      {false, true, true, "unacknowledged", false},  {false, true, false, "latched", true},
      {false, false, true, "unacknowledged", false}, {false, false, false, "returned", true},
      {true, true, true, "acknowledged", false},     {true, true, false, "latched", true},
      {true, false, true, "acknowledged", false},    {true, false, false, "normal", false}};
  for (const Row& row : rows) {
    SCOPED_TRACE(row.state);
    const Rule rule = rule_with(row.latch);
    std::vector<LifeInput> way{on_delay_ends};
    if (row.acked) way.push_back(acknowledge);
    if (!row.condition) way.push_back(off_delay_ends);
    const auto life = life_after(rule, way);
    EXPECT_EQ(name_of(shown_state(life.get(), false)), row.state);
    EXPECT_EQ(bool(apply(reset, *life, at(rule))), row.resettable);
  }
}

TEST(LifeTable, FirstThatFitsIsShown) {
  EXPECT_EQ(shown_state(nullptr, false), AlarmState::normal);
  EXPECT_EQ(shown_state(nullptr, true), AlarmState::suppressed);
  Life pending;
  pending.condition = true;
  EXPECT_EQ(shown_state(&pending, false), AlarmState::pending);
  EXPECT_EQ(shown_state(&pending, true), AlarmState::suppressed);
  const Rule rule = rule_with(true);
  const auto active = life_after(rule, {on_delay_ends});
  EXPECT_EQ(shown_state(active.get(), true), AlarmState::unacknowledged);
  const auto out = life_after(rule, {on_delay_ends, out_of_service});
  EXPECT_EQ(shown_state(out.get(), true), AlarmState::out_of_service);
  EXPECT_FALSE(out->active) << "an active alarm ends as returned";
}

TEST(LifeRefusals, WholeSentences) {
  const Rule rule = rule_with(true);
  const auto refused = [&](const std::vector<LifeInput>& way, LifeInput input) {
    const auto life = life_after(rule, way);
    LifeContext context = at(rule);
    context.evidence = "39.8 °C is above 39.5 °C";
    return apply(input, *life, context).why();
  };
  EXPECT_EQ(refused({on_delay_ends}, reset),
            "still active: 39.8 °C is above 39.5 °C; reset it once it has returned");
  EXPECT_EQ(refused({on_delay_ends, acknowledge}, acknowledge), "already acknowledged by mara");
  EXPECT_EQ(refused({}, acknowledge), "nothing to acknowledge: it is not raised");
  EXPECT_EQ(refused({}, snooze), "not active: only an active alarm can be snoozed");
  EXPECT_EQ(refused({on_delay_ends}, unsnooze), "not snoozed");
  EXPECT_EQ(refused({}, pass_on), "not active: there is nothing to pass on");
  EXPECT_EQ(refused({on_delay_ends, acknowledge}, pass_on),
            "already acknowledged by mara: nobody is waiting to be told");
  EXPECT_EQ(refused({}, reset), "nothing to reset: no latch is set and nothing has returned");
  EXPECT_EQ(refused({}, in_service), "not out of service");
}

TEST(LifeDelays, OnDelayStartsFromNothingEachTime) {
  Rule rule = rule_with(true);
  rule.delay = 60s;
  Life life;
  EXPECT_EQ(condition_true(life, at(rule)), std::nullopt);
  EXPECT_EQ(life.due, kStart + 60s);
  EXPECT_EQ(condition_false(life, at(rule, 40s)), std::nullopt);
  EXPECT_EQ(life.due, kNever);
  EXPECT_EQ(condition_true(life, at(rule, 41s)), std::nullopt);
  EXPECT_EQ(life.due, kStart + 101s) << "published check 20: true from 41 s, alarm at 101 s";
}

TEST(LifeDelays, NoDelayRaisesAndReturnsAtOnce) {
  const Rule rule = rule_with(true);
  Life life;
  EXPECT_EQ(condition_true(life, at(rule)), EventKind::raised);
  EXPECT_EQ(condition_true(life, at(rule)), std::nullopt) << "it is true already";
  EXPECT_EQ(condition_false(life, at(rule)), EventKind::returned);
}

TEST(LifeDelays, OffDelayIsForgottenWhereTheConditionComesBack) {
  Rule rule = rule_with(true);
  rule.clear_delay = 60s;
  Life life;
  condition_true(life, at(rule));
  EXPECT_EQ(condition_false(life, at(rule, 100s)), std::nullopt);
  EXPECT_EQ(life.returns, kStart + 160s);
  EXPECT_EQ(condition_true(life, at(rule, 150s)), std::nullopt);
  EXPECT_EQ(life.returns, kNever);
  EXPECT_TRUE(life.active);
}

TEST(LifeDelays, HeldDelayGoesOnWithWhatWasLeft) {
  Rule rule = rule_with(true);
  rule.delay = 60min;
  Life life;
  condition_true(life, at(rule));
  hold(life, kStart + 20min);
  EXPECT_EQ(life.due, kNever);
  EXPECT_EQ(go_on(life, at(rule, 50min)), std::nullopt);
  EXPECT_EQ(life.due, kStart + 90min);
  hold(life, kStart + 60min);
  EXPECT_EQ(go_on(life, at(rule, 90min)), std::nullopt);
  EXPECT_EQ(life.due, kStart + 120min) << "20 + 10 min had passed";
}

TEST(LifeDelays, ChangedDelayCountsFromWhenTheConditionTurnedTrue) {
  Rule rule = rule_with(true);
  rule.delay = 60min;
  Life life;
  condition_true(life, at(rule));
  rule.delay = 30min;
  EXPECT_EQ(delay_changed(life, at(rule, 10min)), std::nullopt);
  EXPECT_EQ(life.due, kStart + 30min);
  rule.delay = 5min;
  EXPECT_EQ(delay_changed(life, at(rule, 10min)), EventKind::raised);
}

TEST(LifeDelays, RuleTakenOutLeavesTheRestToAPerson) {
  const Rule rule = rule_with(true);
  Life life;
  condition_true(life, at(rule));
  ASSERT_TRUE(apply(snooze, life, at(rule)));
  EXPECT_EQ(take_out(life, at(rule, 1min)), EventKind::returned);
  EXPECT_TRUE(life.latched);
  EXPECT_TRUE(life.snoozed());
  EXPECT_FALSE(life.condition);
  EXPECT_EQ(take_out(life, at(rule, 2min)), std::nullopt);
}

TEST(LifeDelays, OutOfServiceFollowsNoCondition) {
  const Rule rule = rule_with(true);
  Life life;
  ASSERT_TRUE(apply(out_of_service, life, at(rule)));
  EXPECT_EQ(condition_true(life, at(rule, 1min)), std::nullopt);
  EXPECT_FALSE(life.condition);
}

TEST(LifeWorst, FollowsTheDirectionOfTheRule) {
  Rule rule = rule_with(true);
  rule.delay = 10min;
  Life life;
  condition_true(life, at(rule, 0s, 39'600));
  follow_worst(life, rule, 40'000);
  follow_worst(life, rule, 39'700);
  ASSERT_TRUE(apply(on_delay_ends, life, at(rule, 10min, 39'700)));
  EXPECT_EQ(life.worst, 40'000) << "the worst since the condition turned true";
  EXPECT_EQ(life.reference, 39'700) << "the reference is the value at the raise";
  EXPECT_FALSE(is_worse(life, rule, 40'699));
  EXPECT_TRUE(is_worse(life, rule, 40'700));
  rule.kind = RuleKind::below;
  EXPECT_FALSE(is_worse(life, rule, 38'701));
  EXPECT_TRUE(is_worse(life, rule, 38'700));
  follow_worst(life, rule, 39'000);
  EXPECT_EQ(life.worst, 39'000);
  rule.worse_by.reset();
  EXPECT_FALSE(is_worse(life, rule, 0));
}

TEST(LifeWorst, RaisedInASnoozeKeepsTheReference) {
  const Rule rule = rule_with(true);
  const auto life = life_after(rule, {on_delay_ends, snooze, off_delay_ends});
  ASSERT_TRUE(apply(on_delay_ends, *life, at(rule, 5min, 40'000)));
  EXPECT_EQ(life->reference, 39'600);
}

TEST(LifeHolds, TheCountStopsWithReturnAndSnooze) {
  const Rule rule = rule_with(true);
  auto life = life_after(rule, {on_delay_ends, acknowledge});
  EXPECT_EQ(life->holds_until, kStart + 30min);
  ASSERT_TRUE(apply(snooze, *life, at(rule)));
  EXPECT_EQ(life->holds_until, kNever);
  life = life_after(rule, {on_delay_ends, acknowledge, off_delay_ends});
  EXPECT_EQ(life->holds_until, kNever);
  Rule endless = rule;
  endless.acknowledge_holds.reset();
  life = life_after(endless, {on_delay_ends, acknowledge});
  EXPECT_EQ(life->holds_until, kNever);
}

}  // namespace
}  // namespace clutchward
