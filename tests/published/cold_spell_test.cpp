// Cold spells against what extension services and trials printed.
#include "incubation/cold_spell.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace clutchward {
namespace {

using namespace std::chrono_literals;

// Room of 20 C for that long, a sample a minute, the air at 20 C from the first minute on.
std::vector<TemperatureSample> room(std::chrono::minutes lasts, double celsius) {
  std::vector<TemperatureSample> air;
  for (std::chrono::minutes at{0}; at <= lasts; ++at) air.push_back({at, celsius});
  return air;
}

// Incubation facts, check 25: a goose's egg (time constant 77 min, derived from Am. J. Physiol.
// 1978, 234:R183) in a room of 20 C: 34.4 C after 15 min, 31.9 after 30, 28.0 after 60.
TEST(ColdSpell, GooseEggInARoom) {
  for (const auto& [minutes, egg] : {std::pair{15min, 34.4}, {30min, 31.9}, {60min, 28.0}}) {
    const auto spell = cold_spell(room(minutes, 20), 12, 30, 77, 37.5);
    ASSERT_TRUE(spell) << spell.why();
    EXPECT_NEAR(*spell->coldest_egg_c, egg, 0.1) << minutes.count() << " min";
  }
}

// Check 29: four hours at 33 C on day 10: candle on days 14 to 16 (Penn State Extension, "candle 4
// to 6 days later"), late by 0 to 4 h (derived: the time below about 35 C).
TEST(ColdSpell, FourHoursOnDayTen) {
  const auto spell = cold_spell(room(240min, 33), 10, 21, 52, 33.0);
  ASSERT_TRUE(spell) << spell.why();
  EXPECT_NEAR(spell->egg_hours_below_slowed, 4, 1e-9);
  EXPECT_NEAR(spell->shift.earliest_hours, 0, 1e-9);
  EXPECT_NEAR(spell->shift.latest_hours, 4, 1e-9);
  EXPECT_NEAR(spell->candle_from_day, 14, 0.2);
  EXPECT_NEAR(spell->candle_to_day, 16, 0.2);
  EXPECT_EQ(spell->egg_hours_below_chilled, 0);
}

TEST(ColdSpell, TimeWithoutReadingsWidensTheLateEnd) {
  const auto spell = cold_spell({{0min, 37.5}, {300min, 30.0}}, 10, 21, 52);
  ASSERT_TRUE(spell) << spell.why();
  EXPECT_NEAR(spell->unknown_hours, 5, 1e-9);
  EXPECT_NEAR(spell->shift.latest_hours, 5, 1e-9);
}

TEST(ColdSpell, RefusesWhatCannotBeJudged) {
  EXPECT_EQ(cold_spell({{0min, 37.5}}, 1, 21, 52).why(), "samples: 1 found, 2 or more expected");
  EXPECT_EQ(cold_spell(room(5min, 20), -1, 21, 52).why(),
            "day: -1 days found, 0 to 90 days expected");
}

// What a person must always read, and by stage (the house's texts; standing of each in
// cold_spell.h).
TEST(ColdSpell, AdviceByStage) {
  const auto text = [](double day, Machine machine) {
    std::string all;
    for (const std::string& line :
         cold_spell_advice(*cold_spell(room(240min, 20), day, 30, 77, 37.3), machine))
      all += line + "\n";
    return all;
  };
  using ::testing::HasSubstr;
  using ::testing::Not;
  const std::string early = text(5, Machine::forced_air);
  const std::string late = text(25, Machine::forced_air);
  EXPECT_THAT(early, HasSubstr("keep the machine shut"));
  EXPECT_THAT(late, HasSubstr("let fresh air in"));
  EXPECT_THAT(late, Not(HasSubstr("keep the machine shut")));
  // Incubation facts, 11.3: both are told where the sources differ, and which side is taken.
  const std::string still = text(25, Machine::still_air);
  for (const std::string& each : {early, late}) {
    EXPECT_THAT(each, HasSubstr("Sources differ"));
    EXPECT_THAT(each, HasSubstr("(4-H) opens it at once"));
    EXPECT_THAT(each, HasSubstr("Penn State Extension covers it"));
  }
  EXPECT_THAT(early, HasSubstr("At this age cold is the nearer danger."));
  EXPECT_THAT(late, HasSubstr("their own heat are the nearer danger: open it a little at once"));
  EXPECT_THAT(still, Not(HasSubstr("Sources differ")));
  EXPECT_THAT(still, HasSubstr("Keep the vents open"));
  for (const std::string& each : {early, late, still}) {
    EXPECT_THAT(each, HasSubstr("Never heat with candles"));
    EXPECT_THAT(each, HasSubstr("carbon monoxide"));
    EXPECT_THAT(each, HasSubstr("Never turn the dial up"));
    EXPECT_THAT(each, HasSubstr("all on hens' eggs"));
  }
}

}  // namespace
}  // namespace clutchward
