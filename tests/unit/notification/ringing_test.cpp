// Who needs ringing, as the announcer says it.
#include "notification/ringing.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "house.h"

namespace clutchward {
namespace {

using namespace house;
using testing::IsEmpty;

Settings with_ring(Priority least = Priority::low) {
  Settings settings = saltmere();
  ChannelSettings ring;
  ring.ring = RingChannel{"ring", std::nullopt};
  ring.least = least;
  settings.contacts["mara"].push_back(ring);
  return settings;
}

std::string who(const House& h) {
  std::string text;
  for (const RingCall& call : h.announcer.calls(h.alarms, h.now))
    text += (text.empty() ? "" : ", ") + call.contact + " " + call.key.alarm;
  return text;
}

TEST(Ringing, FromTheAnnouncementUntilSomebodyHasIt) {
  House h(with_ring());
  AlarmView& high = h.high();
  EXPECT_EQ(who(h), "");
  h.raise(high, 39'800);
  h.pass(1min);
  const auto calls = h.announcer.calls(h.alarms, h.now);
  ASSERT_EQ(calls.size(), 1u);
  EXPECT_EQ(calls[0].first_line,
            "TOO HOT Setter A 39.8 C rising (max 39.5) since 02:14. Open the door");
  EXPECT_EQ(calls[0].episode, "e1");
  EXPECT_EQ(calls[0].urgency, Urgency::high);
  const auto version = h.announcer.version();
  h.acknowledge(high, "jonas");
  EXPECT_NE(h.announcer.version(), version);
  EXPECT_EQ(who(h), "");
  h.ring_again(high);
  h.pass(1s);
  EXPECT_EQ(who(h), "mara high");
  h.give_back(high, 39'000);
  EXPECT_EQ(who(h), "");
}

TEST(Ringing, NotForWhomItWasNotToldNorWhoPassedItOn) {
  House h(with_ring());
  AlarmView& high = h.high();
  h.raise(high, 39'800);
  h.pass(6min);  // jonas, too, who has no ring
  EXPECT_EQ(who(h), "mara high");
  h.happen(high, EventKind::passed_on, "mara");
  EXPECT_EQ(who(h), "");
}

TEST(Ringing, TheWorstFirstAndNothingBelowTheChannelsLeast) {
  House h(with_ring());
  h.raise(h.warm("setter-b"), 38'500);
  h.pass(1min);
  h.raise(h.high(), 39'800);
  h.pass(1min);
  EXPECT_EQ(who(h), "mara high, mara warm");
  House least(with_ring(Priority::high));
  least.raise(least.warm("setter-b"), 38'500);
  EXPECT_EQ(least.pass(1min).size(), 1u);  // by webhook
  EXPECT_EQ(who(least), "");
}

TEST(Ringing, MediumStopsWhenQuietHoursBegin) {
  Settings settings = with_ring();
  settings.contact_times["mara"].quiet = {{0x7f, 2h + 30min, 6h}};
  House h(settings);
  h.raise(h.warm(), 38'500);
  h.pass(1min);
  EXPECT_EQ(who(h), "mara warm");
  h.pass(20min);
  EXPECT_EQ(who(h), "");
}

TEST(Ringing, GoesOnAfterARestart) {
  House h(with_ring());
  h.raise(h.high(), 39'800);
  h.pass(1min);
  h.restart();
  EXPECT_EQ(who(h), "mara high");
}

TEST(Ringing, AQuietWordIsNoMessageForARing) {
  Settings settings = with_ring();
  House h(settings);
  AlarmView& high = h.high();
  h.raise(high, 39'800);
  EXPECT_EQ(h.pass(1min).size(), 2u);  // webhook and ring
  h.acknowledge(high, "jonas");
  const auto notes = h.pass(1min);
  ASSERT_EQ(notes.size(), 1u);
  EXPECT_EQ(notes[0].channel, 0);
}

}  // namespace
}  // namespace clutchward
