// What goes next, what is kept, what is dropped; and the waits between tries.
#include "ingest/outgoing.h"

#include <gtest/gtest.h>

#include "ingest/back_off.h"

namespace clutchward {
namespace {

constexpr Steady at(int ms) { return Steady(Span(ms)); }

std::string next_payload(Outgoing& outgoing, Steady now, SendId* id = nullptr) {
  const auto sending = outgoing.next(now);
  if (!sending) return "(none)";
  if (id != nullptr) *id = sending->id;
  return sending->message.payload;
}

TEST(Outgoing, SendsInOrderAndKeepsUntilConfirmed) {
  Outgoing outgoing;
  for (const char* payload : {"1", "2", "3"}) outgoing.add({"e", payload, 1, false, {}});
  SendId first = 0;
  SendId second = 0;
  EXPECT_EQ("1", next_payload(outgoing, at(0), &first));
  EXPECT_EQ("2", next_payload(outgoing, at(0), &second));
  outgoing.confirmed(first, at(1));
  outgoing.link_lost(at(2));
  EXPECT_FALSE(outgoing.in_flight());
  outgoing.confirmed(second, at(3));  // of the link that is gone: says nothing
  EXPECT_EQ("2", next_payload(outgoing, at(4), &second));
  EXPECT_EQ("3", next_payload(outgoing, at(4), &first));
  outgoing.confirmed(first, at(5));
  outgoing.confirmed(second, at(5));
  EXPECT_TRUE(outgoing.messages_done());
  EXPECT_EQ(0u, outgoing.dropped());
}

TEST(Outgoing, OffersWhatWasNotTakenAgain) {
  Outgoing outgoing;
  outgoing.add({"e", "1", 1, false, {}});
  outgoing.add({"e", "2", 1, false, {}});
  SendId id = 0;
  EXPECT_EQ("1", next_payload(outgoing, at(0), &id));
  outgoing.not_taken(id, at(0));
  EXPECT_EQ("1", next_payload(outgoing, at(1)));
  EXPECT_EQ("2", next_payload(outgoing, at(1)));
}

TEST(Outgoing, LeavesOutWhatTheBrokerRefuses) {
  Outgoing outgoing;
  outgoing.add({"e", "1", 1, false, {}});
  outgoing.add({"e", "2", 1, false, {}});
  SendId id = 0;
  EXPECT_EQ("1", next_payload(outgoing, at(0), &id));
  EXPECT_EQ("e", outgoing.refused(id, at(0)));
  EXPECT_EQ("", outgoing.refused(id, at(0)));
  EXPECT_EQ(1u, outgoing.dropped());
  outgoing.link_lost(at(1));
  EXPECT_EQ("2", next_payload(outgoing, at(1)));
}

TEST(Outgoing, DropsTheOldestThatIsNotUnderWayPastItsBounds) {
  Outgoing outgoing;
  outgoing.add({"e", "0", 1, false, {}});
  EXPECT_EQ("0", next_payload(outgoing, at(0)));
  for (std::size_t i = 1; i <= Outgoing::kMessages; ++i)
    outgoing.add({"e", std::to_string(i), 1, false, {}});
  EXPECT_EQ(1u, outgoing.dropped());
  EXPECT_EQ("2", next_payload(outgoing, at(0)));
  Outgoing large;
  const std::string megabyte(1024 * 1024, 'x');
  for (int i = 0; i < 20; ++i) large.add({"e", megabyte, 1, false, {}});
  EXPECT_EQ(13u, large.dropped());
}

TEST(Outgoing, KeepsAWindowOnly) {
  Outgoing outgoing;
  for (int i = 0; i < 100; ++i) outgoing.add({"e", std::to_string(i), 1, false, {}});
  for (std::size_t i = 0; i < Outgoing::kInFlight; ++i)
    EXPECT_EQ(std::to_string(i), next_payload(outgoing, at(0)));
  EXPECT_EQ("(none)", next_payload(outgoing, at(0)));
}

TEST(Outgoing, SendsThePictureAtOnceAndThenOnceASecond) {
  Outgoing outgoing;
  outgoing.picture("c/a", "1", at(0));
  SendId id = 0;
  const auto sending = outgoing.next(at(0));
  ASSERT_TRUE(sending);
  EXPECT_EQ((OutgoingMessage{"c/a", "1", 1, true, std::nullopt}), sending->message);
  outgoing.picture("c/a", "2", at(10));
  EXPECT_EQ("(none)", next_payload(outgoing, at(2000)));  // the first is still under way
  outgoing.confirmed(sending->id, at(20));
  outgoing.picture("c/a", "3", at(30));
  EXPECT_EQ(at(1000), outgoing.next_due());
  EXPECT_EQ("(none)", next_payload(outgoing, at(999)));
  EXPECT_EQ("3", next_payload(outgoing, at(1000), &id));
  outgoing.confirmed(id, at(1001));
  EXPECT_EQ(std::nullopt, outgoing.next_due());
  outgoing.picture("c/a", "3", at(5000));  // nothing new
  EXPECT_EQ("(none)", next_payload(outgoing, at(5000)));
  outgoing.picture("c/b", "1", at(5000));  // each topic has its own second
  EXPECT_EQ("1", next_payload(outgoing, at(5000)));
}

TEST(Outgoing, ForgetsConfirmedPicturesWithTheLinkAndSendsTheOthersAgain) {
  Outgoing outgoing;
  SendId id = 0;
  outgoing.picture("c/a", "1", at(0));
  EXPECT_EQ("1", next_payload(outgoing, at(0), &id));
  outgoing.confirmed(id, at(1));
  outgoing.picture("c/b", "2", at(2));
  EXPECT_EQ("2", next_payload(outgoing, at(2)));  // not confirmed
  outgoing.link_lost(at(5000));
  EXPECT_EQ("2", next_payload(outgoing, at(5000)));
  EXPECT_EQ("(none)", next_payload(outgoing, at(9000)));
  outgoing.picture("c/a", "1", at(9000));  // shown anew, the same as before
  EXPECT_EQ("1", next_payload(outgoing, at(9000)));
}

TEST(Outgoing, ForgetsAPictureThatWasTakenAway) {
  Outgoing outgoing;
  SendId id = 0;
  outgoing.picture("c/a", "1", at(0));
  EXPECT_EQ("1", next_payload(outgoing, at(0), &id));
  outgoing.confirmed(id, at(1));
  outgoing.picture("c/a", "", at(2000));
  EXPECT_EQ("", next_payload(outgoing, at(2000), &id));
  outgoing.confirmed(id, at(2001));
  outgoing.link_lost(at(3000));
  EXPECT_EQ("(none)", next_payload(outgoing, at(9000)));
}

TEST(Outgoing, DoesNotInsistOnAPictureThatIsRefused) {
  Outgoing outgoing;
  SendId id = 0;
  outgoing.picture("c/a", "1", at(0));
  EXPECT_EQ("1", next_payload(outgoing, at(0), &id));
  EXPECT_EQ("c/a", outgoing.refused(id, at(1)));
  EXPECT_EQ("(none)", next_payload(outgoing, at(5000)));
  outgoing.picture("c/a", "2", at(5000));
  EXPECT_EQ("2", next_payload(outgoing, at(5000)));
}

TEST(BackOff, DoublesFromOneSecondToThirty) {
  BackOff back_off;
  for (const int seconds : {1, 2, 4, 8, 16, 30, 30})
    EXPECT_EQ(Span(seconds * 1000), back_off.failed(0));
  EXPECT_EQ(Span(1000), back_off.lost(Span{5000}, false, 0));
  EXPECT_EQ(Span(2000), back_off.failed(0));
}

TEST(BackOff, AddsUpToAQuarter) {
  EXPECT_EQ(Span(1249), BackOff().failed(1023));
  EXPECT_EQ(Span(1125), BackOff().failed(512));
}

TEST(BackOff, SeesATakeOverInFourYoungLosses) {
  BackOff back_off;
  for (const int seconds : {1, 2, 4}) {
    EXPECT_EQ(Span(seconds * 1000), back_off.lost(Span{4999}, false, 0));
    EXPECT_FALSE(back_off.taken_over());
  }
  EXPECT_EQ(Span(60'000), back_off.lost(Span{10}, false, 0));
  EXPECT_TRUE(back_off.taken_over());
  back_off.lost(Span{70'000}, false, 0);
  EXPECT_FALSE(back_off.taken_over());
}

TEST(BackOff, TakesABrokerThatWentAwayForNoTakeOver) {
  BackOff back_off;
  for (int i = 0; i < 10; ++i) {
    back_off.lost(Span{10}, false, 0);
    EXPECT_FALSE(back_off.taken_over());
    back_off.failed(0);
  }
}

TEST(BackOff, BelievesABrokerThatSaysSoTwice) {
  BackOff back_off;
  EXPECT_EQ(Span(1000), back_off.lost(Span{50'000}, true, 0));
  EXPECT_EQ(Span(60'000), back_off.lost(Span{50'000}, true, 0));
  EXPECT_EQ(Span(1000), back_off.lost(Span{300'000}, true, 0));  // long ago: the first again
}

}  // namespace
}  // namespace clutchward
