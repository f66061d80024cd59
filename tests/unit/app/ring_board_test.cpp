// Ring topics by the clock: beats, confirmations that come, come late and never come.
#include "app/ring_board.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace clutchward {
namespace {

using namespace std::chrono_literals;
using testing::HasSubstr;
using testing::IsEmpty;

ChannelSettings ring_channel(const std::string& topic, std::optional<Span> confirm) {
  ChannelSettings channel;
  channel.ring = RingChannel{topic, confirm};
  return channel;
}

class Board : public testing::Test {
 protected:
  Board() {
    settings.broker.base = "clutchward/saltmere";
    settings.contacts["mara"] = {ring_channel("ring", 90s)};
    settings.contacts["jonas"] = {ring_channel("ring/jonas", std::nullopt)};
    board.configure(settings);
  }
  Notification message(const std::string& id, const std::string& contact, bool alarm = true) {
    Notification note;
    note.id = id;
    note.contact = contact;
    note.urgency = Urgency::high;
    note.first_line = "TOO HOT Setter A";
    if (alarm) note.events.push_back({});
    return note;
  }
  RingCall call(const std::string& contact) {
    return {contact, {"setter-a", "hens-12", "high"}, "e1", Urgency::high, "TOO HOT Setter A", {}};
  }
  void pass(Span span) { now = {now.steady + span, now.wall + span, true}; }
  std::string published() {
    std::string text;
    for (const auto& each : board.take_due(now))
      text += each.topic.substr(settings.broker.base.size() + 1) +
              (each.payload.empty()                                      ? " gone"
               : each.payload.find("\"ring\":true") != std::string::npos ? " rings"
                                                                         : " rests") +
              ";";
    return text;
  }
  std::string reports(bool linked = true) {
    std::string text;
    for (const auto& each : board.take_reports(linked, now.steady))
      text += each.id +
              (each.outcome == Outcome::delivered   ? " delivered"
               : each.outcome == Outcome::try_again ? " again"
                                                    : " failed") +
              ": " + each.detail + ";";
    return text;
  }
  bool confirm(const std::string& topic, const std::string& payload = "", bool retained = false) {
    return board.confirm("clutchward/saltmere/" + topic, payload, retained, now);
  }

  Settings settings;
  RingBoard board;
  Moment now{Steady(1h), Wall(400000h), true};
};

TEST_F(Board, WhatARingThatGoesHadWaitingIsTriedAgain) {
  board.take(message("m1", "mara"), now);
  settings.contacts["mara"] = {ring_channel("ring/mara", 90s)};
  board.configure(settings);
  EXPECT_EQ(reports(), "m1 again: its ring was taken away;");
}

TEST_F(Board, PastItsBoundTheOldestIsTriedAgain) {
  for (int i = 0; i < 257; ++i) board.take(message("m" + std::to_string(i), "mara"), now);
  board.show({call("mara")});
  EXPECT_EQ(reports(), "m0 again: too many wait for a confirmation;");
}

TEST_F(Board, BeatsEveryHalfMinuteAndShowsAChangeAtOnce) {
  EXPECT_EQ(published(), "ring rests;ring/jonas rests;");
  pass(29s);
  EXPECT_EQ(published(), "");
  EXPECT_EQ(board.next_deadline(), now.steady + 1s);
  board.take(message("m1", "mara"), now);
  board.show({call("mara")});
  EXPECT_EQ(published(), "ring rings;");
  pass(1s);
  EXPECT_EQ(published(), "ring/jonas rests;");
  board.show({});
  EXPECT_EQ(published(), "ring rests;");
}

TEST_F(Board, ARingIsShownWithTheIdByWhichItIsConfirmedButWaitsASecondForItAtMost) {
  published();
  board.show({call("mara"), call("jonas")});
  EXPECT_EQ(published(), "");
  EXPECT_EQ(board.next_deadline(), now.steady + 1s);
  pass(20ms);
  board.take(message("m1", "mara"), now);
  EXPECT_LE(*board.next_deadline(), now.steady);
  EXPECT_THAT(board.take_due(now).at(0).payload, HasSubstr("\"id\":\"m1\""));
  // Jonas was told before a restart.
  pass(980ms);
  EXPECT_EQ(published(), "ring/jonas rings;");
  EXPECT_GT(*board.next_deadline(), now.steady + 20s);
  // Nor does the next ring bear this one's id.
  reports();
  confirm("ring/confirm");
  reports();
  board.show({});
  published();
  board.show({call("mara")});
  EXPECT_EQ(published(), "");
  pass(1s);
  EXPECT_THAT(board.take_due(now).at(0).payload, HasSubstr("\"id\":null"));
}

TEST_F(Board, WhatHasAlwaysRungIsDeliveredWhenTheDeviceSaysSo) {
  board.take(message("m1", "mara"), now);
  board.show({call("mara")});
  EXPECT_EQ(reports(), "");
  pass(20s);
  EXPECT_TRUE(confirm("ring/confirm", R"({"id":"m1","by":"bedside"})"));
  EXPECT_EQ(reports(), "m1 delivered: confirmed;");
  EXPECT_THAT(board.take_due(now).at(0).payload, HasSubstr("\"confirmed_by\":\"bedside\""));
  EXPECT_EQ(reports(), "");
}

TEST_F(Board, WithoutAWordItFailsOnceAndALateWordStillCounts) {
  board.take(message("m1", "mara"), now);
  board.show({call("mara")});
  pass(90s);
  EXPECT_EQ(reports(), "m1 failed: no device has confirmed the ring;");
  EXPECT_EQ(reports(), "");
  EXPECT_EQ(published(), "ring rings;ring/jonas rests;");
  EXPECT_TRUE(confirm("ring/confirm"));
  EXPECT_EQ(reports(), "m1 delivered: confirmed;");
}

TEST_F(Board, NobodyConfirmsWhatDoesNotRingAnyMore) {
  board.take(message("m1", "mara"), now);
  board.show({call("mara")});
  EXPECT_EQ(reports(), "");
  board.show({});
  EXPECT_EQ(reports(), "m1 delivered: nobody needs ringing any more;");
}

TEST_F(Board, WithoutADeviceThatCanTellTheBrokersWordIsEnough) {
  board.take(message("m2", "jonas"), now);
  EXPECT_LE(*board.next_deadline(), now.steady);
  EXPECT_EQ(reports(), "m2 delivered: given to the broker;");
  board.take(message("m3", "jonas"), now);
  EXPECT_EQ(reports(/*linked=*/false), "m3 again: the broker is away;");
}

TEST_F(Board, StrangersAndOldWordsConfirmNothing) {
  board.take(message("m1", "mara"), now);
  board.show({call("mara")});
  EXPECT_TRUE(confirm("ring/confirm", "", /*retained=*/true));
  EXPECT_TRUE(confirm("ring/confirm", R"({"id":"another"})"));
  EXPECT_TRUE(confirm("ring/confirm", "ok"));
  EXPECT_FALSE(confirm("ring/nobody/confirm"));
  EXPECT_FALSE(confirm("confirm"));
  EXPECT_FALSE(confirm("ring"));
  EXPECT_EQ(reports(), "");
}

TEST_F(Board, WhatHasNoAlarmRingsForItsTimeOrUntilItIsConfirmed) {
  board.take(message("m1", "mara", false), now);
  EXPECT_EQ(published(), "ring rings;ring/jonas rests;");
  EXPECT_TRUE(confirm("ring/confirm"));
  EXPECT_EQ(published(), "ring rests;");
  board.take(message("m2", "jonas", false), now);
  EXPECT_EQ(published(), "ring/jonas rings;");
  reports();
  pass(10min);
  EXPECT_EQ(published(), "ring rests;ring/jonas rests;");
}

TEST_F(Board, ATopicThatIsNoMoreIsTakenAway) {
  published();
  settings.contacts.erase("jonas");
  board.configure(settings);
  EXPECT_EQ(published(), "ring/jonas gone;");
  EXPECT_THAT(board.filters(), testing::ElementsAre("clutchward/saltmere/ring/confirm"));
}

TEST_F(Board, EverythingIsGivenAnewToABrokerThatMayHaveForgotten) {
  published();
  board.forget_published();
  EXPECT_EQ(published(), "ring rests;ring/jonas rests;");
}

}  // namespace
}  // namespace clutchward
