// From when to when nobody watched, by clocks that stop, start in the past and are set.
#include "app/absence.h"

#include <gtest/gtest.h>

namespace clutchward {
namespace {

using namespace std::chrono_literals;

constexpr Wall kLast{1772352000000ms};  // 2026-03-01T08:00:00Z
constexpr Steady kStarted{20s};         // after boot

Moment at(Span running, Span wall_after_last, bool trusted = true) {
  return {kStarted + running, kLast + wall_after_last, trusted};
}

TEST(AbsenceLook, IsToldOnceFromTheLastSignOfLifeToTheStart) {
  AbsenceLook look(kLast, kStarted);
  EXPECT_EQ(look.look(at(5s, 4h + 5s), true), (Absence{kLast, kLast + 4h}));
  EXPECT_TRUE(look.done());
  EXPECT_FALSE(look.look(at(6s, 4h + 6s), true));
}

TEST(AbsenceLook, ARestartIsNone) {
  AbsenceLook look(kLast, kStarted);
  EXPECT_FALSE(look.look(at(0s, 9min + 59s), true));
  EXPECT_TRUE(look.done());
  EXPECT_EQ(AbsenceLook(kLast, kStarted).look(at(0s, 10min), true),
            (Absence{kLast, kLast + 10min}));
}

TEST(AbsenceLook, NobodyWhoEverWatchedIsMissed) {
  AbsenceLook look(std::nullopt, kStarted);
  EXPECT_TRUE(look.done());
  EXPECT_FALSE(look.look(at(0s, 99h), true));
}

TEST(AbsenceLook, WaitsForAClockThatCanBeTrusted) {
  AbsenceLook look(kLast, kStarted);
  EXPECT_FALSE(look.look(at(1min, -20 * 24h, false), false));
  EXPECT_FALSE(look.look(at(50min, -20 * 24h, false), false));
  EXPECT_EQ(look.look(at(51min, 5h + 51min), false), (Absence{kLast, kLast + 5h}));
}

// It goes on where it stopped, so nothing shows that it is wrong until it is set.
TEST(AbsenceLook, LooksAgainAtAClockThatStoodStillWithThePower) {
  AbsenceLook look(kLast, kStarted);
  EXPECT_FALSE(look.look(at(1min, 2min), false));
  EXPECT_EQ(look.look(at(3min, 6h + 3min), true), (Absence{kLast, kLast + 6h}));
  AbsenceLook late(kLast, kStarted);
  EXPECT_FALSE(late.look(at(30min, 31min), false));
  EXPECT_FALSE(late.look(at(31min, 6h), false));  // somebody's hand
}

TEST(AbsenceLook, AClockSetBackIsNoAbsence) {
  AbsenceLook look(kLast, kStarted);
  EXPECT_FALSE(look.look(at(0s, -3h), true));
}

}  // namespace
}  // namespace clutchward
