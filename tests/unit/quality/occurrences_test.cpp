// Two sets of rules over the same time: what is one occurrence, who missed it, who was earlier.
#include "quality/occurrences.h"

#include <gtest/gtest.h>

#include "events.h"

namespace clutchward {
namespace {

using quality_test::event;
using quality_test::kStart;
using namespace std::chrono_literals;

struct House {
  std::vector<Occurrence> told;
  OccurrenceMatcher matcher{2, [this](const Occurrence& one) { told.push_back(one); }};

  void raise(std::size_t side, Span at, const std::string& rule,
             const std::string& trouble = "too hot", const std::string& cabinet = "setter-a") {
    matcher.raised(side, event(at, EventKind::raised, rule, cabinet), Priority::medium, trouble);
  }
  void end(std::size_t side, Span at, const std::string& rule,
           const std::string& cabinet = "setter-a") {
    matcher.ended(side, event(at, EventKind::returned, rule, cabinet));
  }
};

TEST(Occurrences, OverlapMakesThemOneWhateverTheRulesAreCalled) {
  House house;
  house.raise(0, 10min, "warm");
  house.raise(1, 12min, "hot-now");
  house.end(0, 20min, "warm");
  house.raise(0, 25min, "high");  // the other side's still stands
  house.end(1, 30min, "hot-now");
  house.end(0, 40min, "high");
  house.matcher.finish(kStart + 2h);
  ASSERT_EQ(house.told.size(), 1U);
  const Occurrence& one = house.told[0];
  EXPECT_EQ(one.from, kStart + 10min);
  EXPECT_EQ(one.until, kStart + 40min);
  EXPECT_EQ(one.sides[0].rules, (std::set<std::string>{"high", "warm"}));
  EXPECT_EQ(one.sides[0].raised, 2U);
  EXPECT_EQ(one.sides[1].first, kStart + 12min);
}

TEST(Occurrences, TenMinutesApartIsOneAndMoreAreTwo) {
  House house;
  house.raise(0, 0min, "warm");
  house.end(0, 5min, "warm");
  house.raise(1, 15min, "warm");
  house.end(1, 20min, "warm");
  house.raise(1, 30min + 1ms, "warm");
  house.matcher.finish(kStart + 1h);
  ASSERT_EQ(house.told.size(), 2U);
  EXPECT_TRUE(house.told[0].sides[1].first);
  EXPECT_FALSE(house.told[1].sides[0].first);
  EXPECT_EQ(house.told[1].until, kStart + 1h);  // it still stands
}

TEST(Occurrences, OtherCabinetsAndOtherTroublesAreTheirOwn) {
  House house;
  house.raise(0, 1min, "warm");
  house.raise(1, 1min, "warm", "too hot", "setter-b");
  house.raise(1, 1min, "dry", "too dry");
  house.matcher.finish(kStart + 1h);
  EXPECT_EQ(house.told.size(), 3U);
}

TEST(Occurrences, AreSummedUpWithTheMiddleLead) {
  House house;
  OccurrenceSums sums;
  const auto both = [&](Span at, Span later, const std::string& cabinet) {
    house.raise(0, at, "warm", "too hot", cabinet);
    house.raise(1, at + later, "warm", "too hot", cabinet);
  };
  both(1min, 0s, "a");
  both(1min, 90s, "b");
  both(1min, 30s, "c");
  house.raise(0, 1min, "warm", "too hot", "d");
  house.matcher.finish(kStart + 1h);
  for (const Occurrence& one : house.told) sums.take(one, 0, 1);
  EXPECT_EQ(sums.both, 3U);
  EXPECT_EQ(sums.only_first, 1U);
  EXPECT_EQ(sums.only_second, 0U);
  EXPECT_EQ(sums.middle_lead(), Span(-30s));
}

TEST(Occurrences, SortsOfTrouble) {
  const auto sort = [](RuleKind kind, Quantity quantity, bool down) {
    return sort_of_trouble(kind, quantity, down, "");
  };
  EXPECT_EQ(sort(RuleKind::above, Quantity::egg, false), "too hot");
  EXPECT_EQ(sort(RuleKind::rate, Quantity::temperature, true), "too cold");
  EXPECT_EQ(sort(RuleKind::trend, Quantity::temperature, false), "too hot");
  EXPECT_EQ(sort(RuleKind::below, Quantity::humidity, true), "too dry");
  EXPECT_EQ(sort(RuleKind::all_silent, Quantity::temperature, false), "silent");
  EXPECT_EQ(sort_of_trouble(RuleKind::signal, Quantity::signal, false, "door"), "signal door");
}

}  // namespace
}  // namespace clutchward
