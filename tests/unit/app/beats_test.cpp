// When a beat is given, and what withholds it.
#include "app/beats.h"

#include <gtest/gtest.h>

namespace clutchward {
namespace {

using namespace std::chrono_literals;

Settings every(Span span) {
  BeatSettings beat;
  beat.url = "http://127.0.0.1:9100/beat";
  beat.every = span;
  Settings settings;
  settings.beats = {beat};
  return settings;
}

TEST(Beats, OnlyWhileReadingsArrive) {
  Beats beats(every(1min));
  const Steady start(100h);
  EXPECT_TRUE(beats.take_due({0, true, true}, start).empty());
  EXPECT_EQ(beats.withheld(), "no readings arrive");
  EXPECT_EQ(beats.take_due({1, true, true}, start + 1s).size(), 1U);
  EXPECT_TRUE(beats.take_due({1, true, true}, start + 2s).empty());  // not due yet
  EXPECT_EQ(beats.take_due({1, true, true}, start + 5min).size(), 1U);
  EXPECT_TRUE(beats.take_due({1, true, true}, start + 5min + 2s).empty());
  EXPECT_EQ(beats.withheld(), "no readings arrive");
  EXPECT_EQ(beats.take_due({2, true, true}, start + 30min).size(), 1U);
}

TEST(Beats, TakeAsLifeWhatTheSiteCallsNotSilent) {
  Settings settings = every(1min);
  settings.rules["silent"].after = 30min;
  Beats beats(settings);
  const Steady start(100h);
  EXPECT_EQ(beats.take_due({1, true, true}, start).size(), 1U);
  EXPECT_EQ(beats.take_due({1, true, true}, start + 30min).size(), 1U);
  EXPECT_TRUE(beats.take_due({1, true, true}, start + 32min).empty());
  EXPECT_EQ(beats.withheld(), "no readings arrive");
  settings.rules["silent"] = {};
  settings.rules["silent"].off = true;  // then five minutes
  beats.configure(settings);
  EXPECT_EQ(beats.take_due({2, true, true}, start + 33min).size(), 1U);
  EXPECT_EQ(beats.take_due({2, true, true}, start + 38min).size(), 1U);
  EXPECT_TRUE(beats.take_due({2, true, true}, start + 39min).empty());
}

TEST(Beats, NoneWhereTheStateCannotBeSavedOrNobodyToldOf) {
  Beats beats(every(1min));
  const Steady start(100h);
  EXPECT_TRUE(beats.take_due({1, false, true}, start).empty());
  EXPECT_EQ(beats.withheld(), "the state cannot be saved");
  EXPECT_TRUE(beats.take_due({2, true, false}, start).empty());
  EXPECT_EQ(beats.withheld(), "no channel gets a message through");
  EXPECT_EQ(beats.take_due({3, true, true}, start).size(), 1U);
}

TEST(Beats, TheSecondComesAWholeSpanAfterTheFirst) {
  Beats beats(every(1min));
  const Steady start(100h);
  EXPECT_EQ(beats.take_due({1, true, true}, start).size(), 1U);
  EXPECT_TRUE(beats.take_due({2, true, true}, start + 59s).empty());
  EXPECT_EQ(beats.take_due({3, true, true}, start + 60s).size(), 1U);
}

TEST(Beats, KeepTheirPaceOverLateTurns) {
  Beats beats(every(1min));
  std::size_t given = 0;
  for (Span at = 0s; at < 60min; at += 7s)
    given +=
        beats.take_due({static_cast<std::uint64_t>(at.count() + 1), true, true}, Steady(100h) + at)
            .size();
  EXPECT_NEAR(static_cast<double>(given), 60, 1);
}

}  // namespace
}  // namespace clutchward
