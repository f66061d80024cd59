// Which channels fail, and for how long it must last to be told.
#include "app/deliveries.h"

#include <gtest/gtest.h>

namespace clutchward {
namespace {

using namespace std::chrono_literals;

class Channels : public testing::Test {
 protected:
  Channels() {
    ChannelSettings hook;
    hook.webhook = WebhookChannel{};
    ChannelSettings mail;
    mail.email = EmailChannel{};
    settings_.contacts["mara"] = {hook, mail};
  }

  void tried(int channel, Outcome outcome, Span at) {
    Notification note;
    note.id = std::to_string(++number_);
    note.contact = "mara";
    note.channel = channel;
    deliveries_.sent(note);
    deliveries_.note({note.id, outcome, "connection refused", std::nullopt},
                     {Steady(at), Wall(at), true});
  }
  std::vector<Deliveries::Failing> failing(Span at) const {
    return deliveries_.failing(settings_, 10min, Steady(at));
  }

  Settings settings_;
  Deliveries deliveries_;
  int number_ = 0;
};

TEST_F(Channels, FailFromTheFirstOfTheTriesInARow) {
  tried(0, Outcome::try_again, 1h);
  tried(1, Outcome::delivered, 1h);
  tried(0, Outcome::failed, 1h + 5min);
  EXPECT_TRUE(failing(1h + 10min - 1ms).empty());
  const auto found = failing(1h + 10min);
  ASSERT_EQ(found.size(), 1U);
  EXPECT_EQ(found[0].contact, "mara");
  EXPECT_EQ(found[0].kind, "webhook");
  EXPECT_EQ(found[0].trouble, "connection refused");
}

TEST_F(Channels, WorkAgainWithTheFirstThatGetsThrough) {
  tried(0, Outcome::try_again, 1h);
  tried(0, Outcome::delivered, 1h + 11min);
  EXPECT_TRUE(failing(2h).empty());
  tried(0, Outcome::try_again, 2h);
  EXPECT_TRUE(failing(2h + 9min).empty());
}

TEST_F(Channels, AreNotMissedOnceTheyAreGone) {
  tried(1, Outcome::failed, 1h);
  EXPECT_EQ(failing(2h).size(), 1U);
  settings_.contacts["mara"].pop_back();
  EXPECT_TRUE(failing(2h).empty());
}

}  // namespace
}  // namespace clutchward
