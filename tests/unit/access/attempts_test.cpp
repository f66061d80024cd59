// Guessing is slow, and its victim is not shut out.
#include "access/attempts.h"

#include <gtest/gtest.h>

#include "access/role.h"
#include "base/limits.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

Steady at(Span since_boot) { return Steady{} + since_boot; }

// Shared reference, section 3.2: of 10,000 guesses in ten minutes at most 20 are looked at.
TEST(Attempts, LetsFewOfTenThousandGuessesThrough) {
  Attempts attempts;
  int looked_at = 0;
  for (int i = 0; i < 10'000; ++i)
    if (attempts.begin("mara", "203.0.113." + std::to_string(i % 250), at(2h + i * 60ms)) ==
        Span{0})
      ++looked_at;
  EXPECT_GE(looked_at, 5);
  EXPECT_LE(looked_at, 20);
}

TEST(Attempts, CountsAnAddressOverAllWhomItClaimsToBe) {
  Attempts attempts;
  int looked_at = 0;
  for (int i = 0; i < 1'000; ++i)
    if (attempts.begin("person-" + std::to_string(i), "203.0.113.9", at(2h + i * 600ms)) == Span{0})
      ++looked_at;
  EXPECT_LE(looked_at, 20);
}

TEST(Attempts, ForgetsAfterSuccessAndAfterAnHour) {
  Attempts attempts;
  for (int i = 0; i < 5; ++i) EXPECT_EQ(attempts.begin("mara", "::1", at(2h)), Span{0});
  EXPECT_EQ(attempts.begin("mara", "::1", at(2h)), Span{15s});
  EXPECT_EQ(attempts.begin("mara", "192.0.2.1", at(2h)), Span{15s});
  EXPECT_EQ(attempts.begin("mara", "::1", at(2h + 15s)), Span{0});
  EXPECT_EQ(attempts.begin("mara", "::1", at(2h + 15s)), Span{30s});
  attempts.succeeded("mara", "::1");
  EXPECT_EQ(attempts.begin("mara", "::1", at(2h + 15s)), Span{0});
  for (int i = 0; i < 30; ++i) attempts.begin("mara", "::1", at(3h + i * 15min));
  EXPECT_LE(attempts.begin("mara", "::1", at(3h + 29 * 15min)), Span{15min});
  EXPECT_EQ(attempts.begin("mara", "::1", at(3h + 29 * 15min + 61min)), Span{0});
}

TEST(Attempts, HoldsSoManyAndNoMore) {
  Attempts attempts;
  for (std::size_t i = 0; i < 3 * limits::kAttemptKeys; ++i)
    EXPECT_EQ(attempts.begin("p" + std::to_string(i), "a" + std::to_string(i), at(2h)), Span{0});
  EXPECT_EQ(attempts.begin("p1", "a1", at(2h)), Span{0});
}

TEST(Role, DoesWhatItSays) {
  for (const Deed deed : {Deed::acknowledge, Deed::snooze, Deed::unsnooze, Deed::reset,
                          Deed::pass_on, Deed::attend, Deed::attended, Deed::turned, Deed::cool})
    EXPECT_EQ(needed_for(deed), Role::answer) << name_of(deed);
  for (const Deed deed : {Deed::out_of_service, Deed::in_service, Deed::batch_start,
                          Deed::batch_move, Deed::batch_end, Deed::message_test})
    EXPECT_EQ(needed_for(deed), Role::manage) << name_of(deed);
  EXPECT_TRUE(may(Role::manage, Role::answer));
  EXPECT_TRUE(may(Role::answer, Role::answer));
  EXPECT_FALSE(may(Role::look, Role::answer));
}

}  // namespace
}  // namespace clutchward
