// When somebody last looked: one visit is one look, and a restart forgets none.
#include "web/looks.h"

#include <gtest/gtest.h>

#include "fake_site.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

TEST(Looks, OneVisitIsOneLook) {
  const Wall evening = test::at("2026-03-12T21:40:00Z");
  Looks looks;
  EXPECT_FALSE(looks.look("mara", evening));
  EXPECT_FALSE(looks.look("mara", evening + 5min));  // still the first visit
  const Wall morning = test::at("2026-03-13T06:30:00Z");
  EXPECT_EQ(looks.look("mara", morning), evening + 5min);
  EXPECT_EQ(looks.look("mara", morning + 9min), evening + 5min);  // the page renewed itself
  EXPECT_FALSE(looks.look("joss", morning));
  EXPECT_EQ(looks.look("mara", morning + 30min), morning + 9min);
}

TEST(Looks, AreKeptAndSparing) {
  const Wall evening = test::at("2026-03-12T21:40:00Z");
  Looks looks;
  looks.look("mara", evening);
  EXPECT_TRUE(looks.take_changed());
  for (int second = 0; second < 240; ++second)
    looks.look("mara", evening + std::chrono::seconds(second));
  EXPECT_FALSE(looks.take_changed());
  looks.look("mara", evening + 6min);
  const auto kept = looks.take_changed();
  ASSERT_TRUE(kept);
  Looks after;
  after.restore(*kept);
  EXPECT_FALSE(after.take_changed());
  EXPECT_EQ(after.look("mara", evening + 9h), evening + 6min);
  Tree broken = Tree::map();
  broken.add("mara", "no map");
  Looks careful;
  careful.restore(broken);
  EXPECT_FALSE(careful.look("mara", evening));
}

}  // namespace
}  // namespace clutchward
