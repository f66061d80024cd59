// The hand-over: order, bounds, wake-ups and the pause while busy.
#include "ingest/inbox.h"

#include <gtest/gtest.h>
#include <poll.h>

#include <string>
#include <thread>
#include <vector>

namespace clutchward {
namespace {

Incoming reading(std::string_view topic, std::string_view payload) {
  Incoming item;
  item.topic = topic;
  item.payload = payload;
  item.stamp = {Steady(Span(1234)), Wall(Span(5678))};
  return item;
}

Incoming command(std::string_view payload) {
  Incoming item = reading("base/command", payload);
  item.kind = Incoming::Kind::command;
  return item;
}

Incoming link(LinkState state, std::string_view why) {
  Incoming item = reading("", why);
  item.kind = Incoming::Kind::link;
  item.link = state;
  return item;
}

std::vector<std::string> payloads(const Drained& drained) {
  std::vector<std::string> all;
  drained.for_each([&all](const Incoming& item) { all.emplace_back(item.payload); });
  return all;
}

bool readable(const Inbox& inbox) {
  pollfd descriptor{inbox.descriptor(), POLLIN, 0};
  return ::poll(&descriptor, 1, 0) == 1;
}

TEST(Inbox, HandsOverEverythingAsItCame) {
  Inbox inbox;
  Incoming item = command(std::string_view("\0\xFF{}", 4));
  item.retained = true;
  item.qos = 2;
  item.response_topic = "clients/mara";
  item.correlation = std::string_view("\0\1", 2);
  inbox.push(item);
  inbox.push(link(LinkState::publish_refused, "why"));
  const Drained drained = inbox.drain();
  ASSERT_EQ(2u, drained.size());
  int seen = 0;
  drained.for_each([&](const Incoming& got) {
    EXPECT_EQ(Steady(Span(1234)), got.stamp.steady);
    EXPECT_EQ(Wall(Span(5678)), got.stamp.wall);
    if (++seen == 1) {
      EXPECT_EQ(Incoming::Kind::command, got.kind);
      EXPECT_TRUE(got.retained);
      EXPECT_EQ(2, got.qos);
      EXPECT_EQ("base/command", got.topic);
      EXPECT_EQ(std::string_view("\0\xFF{}", 4), got.payload);
      EXPECT_EQ("clients/mara", got.response_topic);
      EXPECT_EQ(std::string_view("\0\1", 2), got.correlation);
    } else {
      EXPECT_EQ(Incoming::Kind::link, got.kind);
      EXPECT_EQ(LinkState::publish_refused, got.link);
      EXPECT_FALSE(got.retained);
      EXPECT_EQ("why", got.payload);
    }
  });
  EXPECT_EQ(2, seen);
  EXPECT_EQ(0u, inbox.drain().size());
}

TEST(Inbox, KeepsTheOrderOverReadingsCommandsAndLinkChanges) {
  Inbox inbox;
  inbox.push(link(LinkState::connected, "1"));
  inbox.push(reading("a", "2"));
  inbox.push(command("3"));
  inbox.push(command("4"));
  inbox.push(reading("a", "5"));
  inbox.push(link(LinkState::lost, "6"));
  inbox.push(command("7"));
  EXPECT_EQ((std::vector<std::string>{"1", "2", "3", "4", "5", "6", "7"}), payloads(inbox.drain()));
}

TEST(Inbox, DropsTheNewestReadingWhenFullAndNeverACommandOrALinkChangeForIt) {
  Inbox inbox(1024, 4096);
  for (int i = 0; i < 100; ++i) inbox.push(reading("farm/a", std::to_string(1000 + i)));
  inbox.push(command("stop"));
  inbox.push(link(LinkState::lost, "gone"));
  // 32 bytes of header, 6 of topic and 4 of payload, rounded to 48: 21 fit into 1024.
  EXPECT_EQ(79u, inbox.dropped_readings());
  std::vector<std::string> got = payloads(inbox.drain());
  ASSERT_EQ(23u, got.size());
  EXPECT_EQ("1000", got.front());
  EXPECT_EQ("1020", got[20]);
  EXPECT_EQ("stop", got[21]);
  EXPECT_EQ("gone", got[22]);
  EXPECT_EQ(0u, inbox.dropped_commands());
  EXPECT_EQ(0u, inbox.dropped_links());
  inbox.push(reading("farm/a", "again"));
  EXPECT_EQ(std::vector<std::string>{"again"}, payloads(inbox.drain()));
}

TEST(Inbox, BoundsCommandsAndLinkChangesToo) {
  Inbox inbox(1024, 1024);
  for (int i = 0; i < 100; ++i) inbox.push(command("{}"));
  EXPECT_EQ(79u, inbox.dropped_commands());
  EXPECT_EQ(21u, inbox.drain().size());
  for (int i = 0; i < 3000; ++i) inbox.push(link(LinkState::lost, "why"));
  EXPECT_GT(inbox.dropped_links(), 0u);
  EXPECT_EQ(3000u, inbox.dropped_links() + inbox.drain().size());
}

TEST(Inbox, CutsWhatIsTooLongSoThatItCanBeSeen) {
  Inbox inbox;
  inbox.push(reading("a", std::string(100'000, 'x')));
  inbox.push(command(std::string(100'000, 'y')));
  inbox.push(reading(std::string(limits::kTopicBytes, 't'), "fits"));
  inbox.push(reading(std::string(limits::kTopicBytes + 1, 't'), "does not"));
  const std::vector<std::string> got = payloads(inbox.drain());
  ASSERT_EQ(3u, got.size());
  EXPECT_EQ(limits::kPayloadBytes + 1, got[0].size());
  EXPECT_EQ(limits::kCommandBytes + 1, got[1].size());
  EXPECT_EQ("fits", got[2]);
  EXPECT_EQ(1u, inbox.dropped_readings());
}

TEST(Inbox, WakesOnlyWhoSleeps) {
  Inbox inbox;
  inbox.push(reading("a", "1"));
  EXPECT_FALSE(readable(inbox));  // nobody has armed it
  EXPECT_FALSE(inbox.arm());      // something is there already
  inbox.push(reading("a", "2"));
  EXPECT_FALSE(readable(inbox));
  EXPECT_EQ(2u, inbox.drain().size());
  EXPECT_TRUE(inbox.arm());
  inbox.push(command("3"));
  EXPECT_TRUE(readable(inbox));
  EXPECT_EQ(1u, inbox.drain().size());
  EXPECT_FALSE(readable(inbox));
  inbox.push(reading("a", "4"));
  EXPECT_FALSE(readable(inbox));
}

TEST(Inbox, LosesNothingBetweenTwoThreads) {
  // Run under the thread sanitizer as well: that is what this test is for.
  Inbox inbox;
  constexpr int kEach = 20'000;
  std::thread library([&inbox] {
    for (int i = 0; i < kEach; ++i) inbox.push(reading("farm/a", std::to_string(i)));
  });
  std::thread other([&inbox] {
    for (int i = 0; i < 100; ++i) inbox.push(link(LinkState::lost, "why"));
  });
  int next = 0;
  int links = 0;
  while (next + static_cast<int>(inbox.dropped_readings()) < kEach || links < 100) {
    if (inbox.arm()) {
      pollfd descriptor{inbox.descriptor(), POLLIN, 0};
      // A wake-up that never came would end here.
      ASSERT_EQ(1, ::poll(&descriptor, 1, 10'000));
    }
    inbox.drain().for_each([&](const Incoming& item) {
      if (item.kind == Incoming::Kind::link) {
        ++links;
        return;
      }
      ASSERT_GE(std::stoi(std::string(item.payload)), next);
      ++next;
    });
  }
  library.join();
  other.join();
  EXPECT_EQ(100, links);
  EXPECT_EQ(kEach, next + static_cast<int>(inbox.dropped_readings()));
}

using Us = GatherPace::Microseconds;

TEST(GatherPace, HoldsNothingBackAtAThousandMessagesASecond) {
  GatherPace pace;
  for (int i = 0; i < 100; ++i) EXPECT_EQ(Us{0}, pace.after_drain(Us{i * 1000}, 1));
}

TEST(GatherPace, GathersOnceFourDrainsFellWithinAMillisecond) {
  GatherPace pace;
  EXPECT_EQ(Us{0}, pace.after_drain(Us{0}, 1));
  EXPECT_EQ(Us{0}, pace.after_drain(Us{300}, 1));
  EXPECT_EQ(Us{0}, pace.after_drain(Us{600}, 1));
  EXPECT_EQ(Us{0}, pace.after_drain(Us{1200}, 1));  // 1.2 ms since the first of the four
  EXPECT_EQ(Us{500}, pace.after_drain(Us{1300}, 1));
  EXPECT_EQ(Us{500}, pace.after_drain(Us{1850}, 30));
  EXPECT_EQ(Us{500}, pace.after_drain(Us{2400}, 2));
  EXPECT_EQ(Us{0}, pace.after_drain(Us{2950}, 1));  // no longer worth it
  EXPECT_EQ(Us{0}, pace.after_drain(Us{3000}, 1));
}

TEST(GatherPace, DoesNotCountDrainsThatBroughtNothing) {
  GatherPace pace;
  for (int i = 0; i < 20; ++i) EXPECT_EQ(Us{0}, pace.after_drain(Us{i * 10}, 0));
}

}  // namespace
}  // namespace clutchward
