// Minutes as they come out of the engine for a history.
#include "engine/minutes.h"

#include <gtest/gtest.h>

#include "bench.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

class MinutesTest : public ::testing::Test {
 protected:
  MinutesTest() : engine_(bench::settings(), Zone(), at(0s), true) { engine_.begin(); }

  static Moment at(Span after) {
    return {Steady{bench::kStart.time_since_epoch() + after}, bench::kStart + after, true};
  }
  void say(Span after, const std::string& where, const std::string& value, bool retained = false) {
    engine_.message("farm/" + where, value, retained, at(after));
  }
  static constexpr std::int64_t kMinute = 1772352000000 / 60000;

  Engine engine_;
};

TEST_F(MinutesTest, NothingIsGatheredUnlessAskedFor) {
  say(1s, "a/top/temperature", "37.5");
  say(2min, "a/top/temperature", "37.5");
  EXPECT_TRUE(engine_.take_minutes(true).empty());
}

TEST_F(MinutesTest, HoldsLeastMeanMostAndCountOfEachProbeAndQuantity) {
  engine_.keep_minutes(true);
  say(0s, "a/top/temperature", "37.4");
  say(20s, "a/top/temperature", "37.6");
  say(30s, "a/low/temperature", "-1.001");
  say(40s, "a/top/temperature", "37.501");
  say(59999ms, "a/top/humidity", "55");
  EXPECT_TRUE(engine_.take_minutes().empty()) << "the minute is not over";
  engine_.settle(at(60s));
  const std::vector<MinuteMean> expected = {
      {"a", "top", Quantity::temperature, kMinute, 37'400, 37'500, 37'600, 3},
      {"a", "low", Quantity::temperature, kMinute, -1'001, -1'001, -1'001, 1},
      {"a", "top", Quantity::humidity, kMinute, 55'000, 55'000, 55'000, 1}};
  EXPECT_EQ(engine_.take_minutes(), expected);
  EXPECT_TRUE(engine_.take_minutes().empty()) << "each is handed out once";
}

TEST_F(MinutesTest, ShowsWhatIsGatheredWithoutTakingIt) {
  engine_.keep_minutes(true);
  say(10s, "a/top/temperature", "37.4");
  say(20s, "b/top/temperature", "38");
  say(60s, "a/top/temperature", "37.6");
  const std::vector<MinuteMean> both = {
      {"a", "top", Quantity::temperature, kMinute, 37'400, 37'400, 37'400, 1},
      {"a", "top", Quantity::temperature, kMinute + 1, 37'600, 37'600, 37'600, 1}};
  EXPECT_EQ(engine_.minutes_so_far("a"), both);
  EXPECT_EQ(engine_.minutes_so_far("a"), both) << "nothing was taken";
  EXPECT_TRUE(engine_.minutes_so_far("c").empty());
}

TEST_F(MinutesTest, AReadingOfTheNextMinuteClosesTheOneBefore) {
  engine_.keep_minutes(true);
  say(10s, "a/top/temperature", "37.4");
  say(60s, "a/top/temperature", "37.6");
  const std::vector<MinuteMean> first = {
      {"a", "top", Quantity::temperature, kMinute, 37'400, 37'400, 37'400, 1}};
  EXPECT_EQ(engine_.take_minutes(), first);
  const std::vector<MinuteMean> second = {
      {"a", "top", Quantity::temperature, kMinute + 1, 37'600, 37'600, 37'600, 1}};
  EXPECT_EQ(engine_.take_minutes(true), second) << "the running one at the end";
}

TEST_F(MinutesTest, OldNewsRejectedReadingsAndUntrustedClocksAreLeftOut) {
  engine_.keep_minutes(true);
  say(10s, "a/top/temperature", "37.4", /*retained=*/true);
  say(11s, "a/top/temperature", "85");
  Moment early = at(12s);
  early.wall_trusted = false;
  engine_.message("farm/a/top/temperature", "37.4", false, early);
  EXPECT_TRUE(engine_.take_minutes(true).empty());
}

TEST_F(MinutesTest, TheOffsetOfAProbeIsInIt) {
  Settings settings = bench::settings();
  settings.cabinets["a"].offsets["top"] = -200;
  Engine engine(settings, Zone(), at(0s), true);
  engine.keep_minutes(true);
  engine.message("farm/a/top/temperature", "37.5", false, at(1s));
  const auto minutes = engine.take_minutes(true);
  ASSERT_EQ(minutes.size(), 1U);
  EXPECT_EQ(minutes[0].mean, 37'300);
}

TEST_F(MinutesTest, ManyReadingsOfOneMinuteComeInPartsThatAddUp) {
  engine_.keep_minutes(true);
  for (int i = 0; i < 20'001; ++i) say(1s, "a/top/humidity", "100");
  const auto minutes = engine_.take_minutes(true);
  ASSERT_EQ(minutes.size(), 2U);
  EXPECT_EQ(minutes[0].count + minutes[1].count, 20'001U);
  EXPECT_EQ(minutes[0].mean, 100'000);
}

}  // namespace
}  // namespace clutchward
