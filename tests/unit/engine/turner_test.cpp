// Turners that tell more than that they turned: how long a run took, on which side the eggs lie.
// What is counted for each local day, what counts as a turn for the alarm, and both after a
// restart.
#include <gtest/gtest.h>

#include "bench.h"

namespace clutchward {
namespace {

using namespace bench;

class Turner : public testing::Test {
 protected:
  static Settings farm() {
    Settings made = settings();
    made.patterns.push_back(pattern("run", Quantity::turn_run));
    made.patterns.push_back(pattern("side", Quantity::turn_side));
    made.cabinets["a"].turner_run = TurnerRun{20s, 90s};
    made.profiles["bench"].stages[0].turn_every = 1h;
    for (const char* id : {"silent", "blind"}) made.rules[id].off = true;
    return made;
  }
  Moment at(Span after) const { return {Steady{500'000ms} + after, kStart + after, true}; }

  void says(Span after, const std::string& what, const std::string& value) {
    now = after;
    engine->message("farm/a/" + what, value, false, at(after));
  }
  TurningDay day(std::size_t back = 0) const {
    const auto record = engine->record("hens");
    if (!record || record->turning.size() <= back) return {};
    return record->turning[record->turning.size() - 1 - back];
  }
  // When the alarm of missed turns was raised, since the last call.
  std::vector<Span> raised() {
    std::vector<Span> times;
    for (const AlarmEvent& event : engine->take_events())
      if (event.key.alarm == "turning" && event.kind == EventKind::raised)
        times.push_back(event.at - kStart);
    return times;
  }
  void restart() {
    kept.take(*engine);
    engine = std::make_unique<Engine>(farm(), Zone(), at(now), true);
    EXPECT_EQ(engine->restore(kept.all(), kStart + now), std::vector<std::string>{});
    engine->begin();
  }

  std::unique_ptr<Engine> engine = [this] {
    auto made = std::make_unique<Engine>(farm(), Zone(), at(0h), true);
    made->begin();
    return made;
  }();
  Kept kept;
  Span now{0};
};

constexpr std::int64_t kFirstDay = 20513;  // 2026-03-01

TEST_F(Turner, CountsADayOfTurnsByMachineAndByHandForTheRecord) {
  for (int hour = 1; hour <= 3; ++hour) says(hour * 1h, "turned", "1");
  apply(*engine, deed(0h, Deed::turned), at(4h));
  EXPECT_EQ(day(), (TurningDay{kFirstDay, 3, 1, 0, 0, 0}));
  says(16h - 1ms, "turned", "1");  // the last millisecond of the day in UTC
  EXPECT_EQ(day(), (TurningDay{kFirstDay, 4, 1, 0, 0, 0}));
  says(16h, "turned", "1");
  EXPECT_EQ(day(1), (TurningDay{kFirstDay, 4, 1, 0, 0, 0}));
  EXPECT_EQ(day(), (TurningDay{kFirstDay + 1, 1, 0, 0, 0, 0}));
  restart();
  says(17h, "turned", "1");
  EXPECT_EQ(day(1), (TurningDay{kFirstDay, 4, 1, 0, 0, 0}));
  EXPECT_EQ(day(), (TurningDay{kFirstDay + 1, 2, 0, 0, 0, 0}));
}

TEST_F(Turner, ARunTooShortIsNoTurnAndOneTooLongIsOneThatIsTold) {
  says(1h, "run", "20");
  says(2h, "run", "91");
  says(3h, "run", "19.9");
  says(4h, "run", "0");  // it did not run at all
  EXPECT_EQ(day(), (TurningDay{kFirstDay, 2, 0, 1, 1, 0}));
  says(5h - 1ms, "run", "5");
  EXPECT_EQ(raised(), std::vector<Span>{});
  engine->settle(at(5h));  // three intervals since the last run that turned the eggs
  EXPECT_EQ(raised(), std::vector<Span>{5h});
  says(6h, "run", "30");
  EXPECT_EQ(day(), (TurningDay{kFirstDay, 3, 0, 2, 1, 0}));
}

TEST_F(Turner, AMotorThatRunsIsNotBelievedWhereTheSideStaysTheSame) {
  says(1h, "side", "left");
  says(1h, "run", "40");
  says(2h, "side", "right");
  says(2h, "run", "40");
  for (int hour = 3; hour <= 5; ++hour) {
    says(hour * 1h - 1ms, "side", "right");
    says(hour * 1h - 1ms, "run", "40");
  }
  EXPECT_EQ(day(), (TurningDay{kFirstDay, 2, 0, 0, 0, 3}));
  EXPECT_EQ(raised(), std::vector<Span>{});
  engine->settle(at(5h));
  EXPECT_EQ(raised(), std::vector<Span>{5h});
  says(6h, "side", "left");
  EXPECT_EQ(day(), (TurningDay{kFirstDay, 3, 0, 0, 0, 3}));
}

TEST_F(Turner, OneSideMissedAmongGoodOnesRingsNothing) {
  const char* sides[] = {"left", "right", "right", "left", "right", "left"};
  for (int i = 0; i < 6; ++i) says((i + 1) * 1h, "side", sides[i]);
  EXPECT_EQ(day(), (TurningDay{kFirstDay, 5, 0, 0, 0, 1}));
  EXPECT_EQ(raised(), std::vector<Span>{});
}

// From 44.5 degrees on the one side to 43 on the other is a quarter turn, as turners do it (common
// practice, no published source).
TEST_F(Turner, AnAngleToldEveryMinuteIsAStateAndItsSignTheSide) {
  for (int minute = 1; minute <= 180; ++minute)
    says(minute * 1min, "side", minute < 60 ? "-44.5" : minute == 60 ? "0.4" : "43");
  EXPECT_EQ(day(), (TurningDay{kFirstDay, 2, 0, 0, 0, 0}));
  EXPECT_EQ(raised(), std::vector<Span>{});
}

TEST_F(Turner, TheSideIsKnownAcrossARestart) {
  says(1h, "side", "left");
  says(2h, "side", "right");
  restart();
  says(3h, "side", "right");
  says(4h, "turned", "1");  // the motor alone: not believed since the side is told
  EXPECT_EQ(day(), (TurningDay{kFirstDay, 2, 0, 0, 0, 1}));
  engine->settle(at(5h));
  EXPECT_EQ(raised(), std::vector<Span>{5h});
}

TEST_F(Turner, WhatIsNoSideAndNoRunIsRejected) {
  says(1h, "side", "up");
  says(1h, "side", "181");
  says(1h, "run", "3601");
  says(1h, "run", "-1");
  says(1h, "run", "40 C");
  EXPECT_EQ(engine->counts().accepted, 0U);
  EXPECT_EQ(day(), TurningDay{});
}

}  // namespace
}  // namespace clutchward
