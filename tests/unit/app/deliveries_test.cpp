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

  void tried(int channel, Outcome outcome, Span at, Span took = 0s) {
    Notification note;
    note.id = std::to_string(++number_);
    note.contact = "mara";
    note.channel = channel;
    deliveries_.sent(note, Steady(at - took));
    deliveries_.note({note.id, outcome, "connection refused", std::nullopt},
                     {Steady(at), Wall(at), true});
  }
  std::vector<Deliveries::Bad> failing(Span at) const {
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
  EXPECT_EQ(found[0].way, "webhook");
  EXPECT_EQ(found[0].trouble, "connection refused");
}

TEST_F(Channels, WorkAgainWithTheFirstThatGetsThrough) {
  tried(0, Outcome::try_again, 1h);
  tried(0, Outcome::delivered, 1h + 11min);
  EXPECT_TRUE(failing(2h).empty());
  tried(0, Outcome::try_again, 2h);
  EXPECT_TRUE(failing(2h + 9min).empty());
}

TEST_F(Channels, ThatAreOthersFromNowOnAreNotBlamedForThoseBefore) {
  tried(0, Outcome::failed, 1h);
  tried(1, Outcome::failed, 1h);
  EXPECT_FALSE(deliveries_.any_channel_works(settings_));
  Settings now = settings_;
  now.contacts["mara"][0].webhook->url = "https://eggs.saltmere.example/";
  deliveries_.configure(settings_, now);
  EXPECT_TRUE(deliveries_.any_channel_works(now));
  EXPECT_EQ(deliveries_.failing(now, 10min, Steady(2h)).size(), 1U);
  // All mail goes by the one server.
  Settings served = now;
  served.smtp.url = "smtp://mail.saltmere.example";
  deliveries_.configure(now, served);
  EXPECT_TRUE(deliveries_.failing(served, 10min, Steady(2h)).empty());
  // A try that was under way belongs to the channel of before.
  Notification note;
  note.id = "late";
  note.contact = "mara";
  note.channel = 1;
  deliveries_.sent(note, Steady(2h));
  deliveries_.configure(served, now);
  deliveries_.note({"late", Outcome::failed, "refused", std::nullopt},
                   {Steady(3h), Wall(3h), true});
  EXPECT_TRUE(deliveries_.failing(now, 10min, Steady(4h)).empty());
}

TEST_F(Channels, AreNotMissedOnceTheyAreGone) {
  tried(1, Outcome::failed, 1h);
  EXPECT_EQ(failing(2h).size(), 1U);
  settings_.contacts["mara"].pop_back();
  EXPECT_TRUE(failing(2h).empty());
}

TEST_F(Channels, ASecondOfOneKindHasANameOfItsOwn) {
  settings_.contacts["mara"].push_back(settings_.contacts["mara"][1]);
  for (const int channel : {0, 1, 2}) tried(channel, Outcome::failed, 1h);
  const auto found = failing(2h);
  ASSERT_EQ(found.size(), 3U);
  EXPECT_EQ(found[0].way, "webhook");
  EXPECT_EQ(found[1].way, "email");
  EXPECT_EQ(found[2].way, "email 2");
}

TEST_F(Channels, AreSlowByTheirLastTryThatWentWell) {
  tried(0, Outcome::delivered, 1h, 30s - 1ms);
  EXPECT_TRUE(deliveries_.slow(settings_, 30s).empty());
  tried(0, Outcome::delivered, 1h, 45s);
  tried(1, Outcome::try_again, 1h, 60s);  // that one fails
  const auto found = deliveries_.slow(settings_, 30s);
  ASSERT_EQ(found.size(), 1U);
  EXPECT_EQ(found[0].way, "webhook");
  EXPECT_EQ(found[0].trouble, "45s");
  tried(0, Outcome::delivered, 2h, 1s);
  EXPECT_TRUE(deliveries_.slow(settings_, 30s).empty());
}

}  // namespace
}  // namespace clutchward
