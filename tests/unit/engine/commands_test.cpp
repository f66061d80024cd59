// What a command that names no alarm is answered with: the refusal of the alarm that a person
// means.
#include <gtest/gtest.h>

#include "bench.h"

namespace clutchward {
namespace {

using namespace bench;

// "high" of cabinet a is active and "warm" pending, as after a sudden heat.
struct HotCabinet {
  Engine engine{bench::settings(), Zone(), moment(0s), true};

  static Moment moment(Span after) { return {Steady{500'000ms} + after, kStart + after, true}; }
  HotCabinet() {
    engine.begin();
    apply(engine, reading(0s, "a/top/temperature", "39.9"), moment(0s));
  }
  Reply ask(Span after, Deed what) { return apply(engine, deed(after, what), moment(after)); }
};

TEST(CommandWithoutAlarm, IsRefusedInTheWordsOfTheAlarmThatStands) {
  HotCabinet hot;
  EXPECT_EQ(hot.ask(1s, Deed::reset).why,
            "high of hens: still active: 39.9 °C is above 39.5 °C; reset it once it has returned");
  ASSERT_TRUE(hot.ask(2s, Deed::acknowledge).ok);
  EXPECT_EQ(hot.ask(3s, Deed::acknowledge).why, "high of hens: already acknowledged by mara");
  EXPECT_EQ(hot.ask(4s, Deed::pass_on).why,
            "high of hens: already acknowledged by mara: nobody is waiting to be told");
}

TEST(CommandWithoutAlarm, TheWorstOfThoseThatStandSpeaks) {
  HotCabinet hot;
  hot.engine.settle(HotCabinet::moment(6min));  // hot and warm are raised by now
  hot.engine.take_events();
  EXPECT_EQ(hot.ask(6min, Deed::reset).why.substr(0, 13), "high of hens:");
  apply(hot.engine, reading(7min, "a/top/temperature", "38.5"), HotCabinet::moment(7min));
  EXPECT_EQ(hot.engine.find({"a", "hens", "high"})->state, AlarmState::latched);
  EXPECT_TRUE(hot.engine.find({"a", "hens", "warm"})->active);
  EXPECT_TRUE(hot.ask(7min, Deed::reset).ok);  // high and hot
  EXPECT_EQ(hot.ask(8min, Deed::reset).why.substr(0, 13), "warm of hens:");
}

TEST(CommandWithoutAlarm, WhereNothingIsRaisedOneSentenceSaysSo) {
  HotCabinet hot;
  const Moment start = HotCabinet::moment(0s);
  Engine calm(bench::settings(), Zone(), start, true);
  calm.begin();
  apply(calm, reading(0s, "a/top/temperature", "38.4"), start);  // warm is pending
  ASSERT_EQ(calm.find({"a", "hens", "warm"})->state, AlarmState::pending);
  const auto why = [&](Deed what) { return apply(calm, deed(0s, what), start).why; };
  EXPECT_EQ(why(Deed::acknowledge), "nothing is raised at \"a\": there is nothing to acknowledge");
  EXPECT_EQ(why(Deed::pass_on), "nothing is raised at \"a\": there is nothing to pass on");
  EXPECT_EQ(why(Deed::unsnooze), "nothing is snoozed at \"a\"");
  EXPECT_EQ(why(Deed::in_service), "nothing is out of service at \"a\"");
  EXPECT_EQ(hot.ask(1s, Deed::unsnooze).why, "nothing is snoozed at \"a\"");
}

}  // namespace
}  // namespace clutchward
