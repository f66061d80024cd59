// Counts that cannot be, classes at their bounds, shifts with their spans.
#include "incubation/hatch.h"

#include <gtest/gtest.h>

#include <limits>

#include "incubation/egg_shape.h"

namespace clutchward {
namespace {

TEST(Hatch, EveryClassOfABreakOut) {
  const auto figures = hatch_figures({.set = 48,
                                      .infertile = 6,
                                      .dead_early = 2,
                                      .dead_middle = 1,
                                      .dead_late = 1,
                                      .pipped_dead = 1,
                                      .culled = 1,
                                      .hatched = 34});
  ASSERT_TRUE(figures) << figures.why();
  EXPECT_EQ(figures->fertile, 40);
  EXPECT_EQ(figures->unaccounted, 2);
  EXPECT_NEAR(figures->fertility_percent, 100.0 * 40 / 48, 1e-12);
  EXPECT_NEAR(figures->hatch_of_set_percent, 100.0 * 34 / 48, 1e-12);
  EXPECT_EQ(figures->of_fertile->hatched_percent, 85);
  EXPECT_EQ(figures->of_fertile->dead_early_percent, 5);
  EXPECT_EQ(figures->of_fertile->culled_percent, 2.5);
}

TEST(Hatch, NoFertileEggHasNoShares) {
  const auto figures = hatch_figures({.set = 10, .infertile = 10});
  ASSERT_TRUE(figures);
  EXPECT_EQ(figures->fertility_percent, 0);
  EXPECT_FALSE(figures->of_fertile);
}

TEST(Hatch, RefusesCountsThatCannotBe) {
  EXPECT_EQ(hatch_figures({}).why(), "eggs set: 0 found, 1 or more expected");
  EXPECT_EQ(hatch_figures({.set = 10, .infertile = 4, .hatched = 7}).why(),
            "more eggs accounted for than set: 11 found, 10 at most expected");
  EXPECT_EQ(hatch_figures({.set = 10, .dead_late = -1}).why(),
            "dead late: -1 found, 0 or more expected");
  const int most = std::numeric_limits<int>::max();
  EXPECT_FALSE(hatch_figures({.set = most, .infertile = most, .hatched = most}));
}

TEST(Hatch, ThirdsOfThePeriod) {
  EXPECT_EQ(*death_class(7, 21), DeathClass::early);
  EXPECT_EQ(*death_class(7.01, 21), DeathClass::middle);
  EXPECT_EQ(*death_class(14, 21), DeathClass::middle);
  EXPECT_EQ(*death_class(14.01, 21), DeathClass::late);
  EXPECT_EQ(*death_class(10, 30), DeathClass::early);
  EXPECT_EQ(*death_class(22, 21), DeathClass::late);
  EXPECT_FALSE(death_class(40, 21));
  EXPECT_FALSE(death_class(-1, 21));
}

TEST(Hatch, ShiftsAreWithinTheirSpan) {
  const auto warm = temperature_shift(21, 0.5);
  ASSERT_TRUE(warm);
  EXPECT_NEAR(warm->hours, -11.34, 1e-9);
  EXPECT_NEAR(warm->earliest_hours, -22.68, 1e-9);
  EXPECT_NEAR(warm->latest_hours, -5.67, 1e-9);
  const auto cool = temperature_shift(21, -0.5);
  EXPECT_NEAR(cool->earliest_hours, 5.67, 1e-9);
  EXPECT_NEAR(cool->latest_hours, 22.68, 1e-9);
  EXPECT_EQ(temperature_shift(21, 2).why(), "mean deviation: 2 °C found, -1.5 to 1.5 °C expected");
  EXPECT_EQ(*outage_shift(4), (HatchShift{2, 0, 4}));
  EXPECT_EQ(*storage_shift(0), (HatchShift{0, 0, 0}));
  EXPECT_FALSE(storage_shift(-1));
}

TEST(Hatch, EightyPercentIsNotLostToRounding) {
  EXPECT_EQ(*eighty_percent_day(35), 28);
  EXPECT_EQ(*eighty_percent_day(30), 24);
  EXPECT_EQ(*eighty_percent_day(42), 34);
  EXPECT_FALSE(eighty_percent_day(0));
}

TEST(EggShape, RefusesWhatIsNoEgg) {
  EXPECT_EQ(egg_shape(43, 57).why(),
            "breadth 57 mm is more than the length 43 mm: the longer measure is the length");
  EXPECT_EQ(egg_shape(5.7, 4.3).why(), "length: 5.7 mm found, 15 to 200 mm expected");
}

}  // namespace
}  // namespace clutchward
