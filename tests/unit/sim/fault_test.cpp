// How faults are written, and the whole text of each refusal.
#include "cabinet-sim/fault.h"

#include <gtest/gtest.h>

namespace clutchward::sim {
namespace {

using namespace std::chrono_literals;

TEST(Fault, ReadsTimeDurationAndSize) {
  const auto f = parse_fault("setter-a:heater-on@5min+1h 30min=0.7");
  ASSERT_TRUE(f) << f.why();
  EXPECT_EQ(*f, (Fault{"setter-a", FaultKind::heater_on, 5min, 95min, 0.7, ""}));
}

TEST(Fault, SizeAndDurationMayBeLeftOut) {
  const auto f = parse_fault("setter-a:creep@0s");
  ASSERT_TRUE(f) << f.why();
  EXPECT_EQ(*f, (Fault{"setter-a", FaultKind::creep, 0s, {}, 0.5, ""}));
}

TEST(Fault, ProbeStandsAsSizeInEitherPlace) {
  const Fault wanted{"a", FaultKind::probe_dead, 10min, 11min, 0, "bottom"};
  EXPECT_EQ(*parse_fault("a:probe-dead=bottom@10min+1min"), wanted);
  EXPECT_EQ(*parse_fault("a:probe-dead@10min+1min=bottom"), wanted);
  EXPECT_EQ(parse_fault("a:probe-frozen@10min")->probe, "top");
}

TEST(Fault, OrderedWhileRunningMayMeanNow) {
  EXPECT_EQ(*parse_fault("a:fan+20min", 1h), (Fault{"a", FaultKind::fan, 1h, 80min, 0, ""}));
  EXPECT_EQ(*parse_fault("a:door=0.5", 1h), (Fault{"a", FaultKind::door, 1h, {}, 0.5, ""}));
}

struct Case {
  const char* text;
  const char* why;
};

TEST(Fault, RefusalsSayWhatWasFoundAndExpected) {
  const Case cases[] = {
      {"", "fault \"\": expected CABINET:FAULT@TIME[+DURATION][=SIZE]"},
      {"heater-on@5min", "fault \"heater-on@5min\": expected CABINET:FAULT@TIME[+DURATION][=SIZE]"},
      {"a:fan", "fault \"a:fan\": expected CABINET:FAULT@TIME[+DURATION][=SIZE]"},
      {"a:heater-onn@5min",
       "fault \"a:heater-onn@5min\": there is no fault \"heater-onn\", did you mean \"heater-on\"; "
       "--list-faults lists them"},
      {"a:fan@soon", "fault \"a:fan@soon\": expected a time such as 90s or 1h 30min, not \"soon\""},
      {"a:fan@1min+x",
       "fault \"a:fan@1min+x\": expected a duration such as 90s or 1h 30min, not \"x\""},
      {"a:fan@1min=2", "fault \"a:fan@1min=2\": \"fan\" takes no size"},
      {"a:door@1min=2",
       "fault \"a:door@1min=2\": \"door\" expects a number (how wide, 0 to 1) from 0 to 1, not "
       "\"2\""},
      {"a:door@1min=nan",
       "fault \"a:door@1min=nan\": \"door\" expects a number (how wide, 0 to 1) from 0 to 1, not "
       "\"nan\""},
      {"a:probe-dead@1min=left",
       "fault \"a:probe-dead@1min=left\": \"probe-dead\" expects top, middle or bottom, not "
       "\"left\""},
      {"a:door=1@1min=1", "fault \"a:door=1@1min=1\": the size stands twice"},
  };
  for (const Case& each : cases) {
    const auto f = parse_fault(each.text);
    ASSERT_FALSE(f) << each.text;
    EXPECT_EQ(f.why(), each.why);
  }
}

TEST(Fault, EveryListedFaultCanBeOrdered) {
  for (const FaultWord& each : fault_words())
    EXPECT_TRUE(parse_fault("a:" + std::string(each.word) + "@1h")) << each.word;
  EXPECT_EQ(fault_words().size(), 10u);
}

}  // namespace
}  // namespace clutchward::sim
