// What a ring topic says, whole, and what a device may answer.
#include "wire/ring_json.h"

#include <gtest/gtest.h>

namespace clutchward {
namespace {

Wall at(const char* time) { return *parse_rfc3339(time); }

RingCall call(const std::string& contact, const std::string& cabinet) {
  return {contact,       {cabinet, "hens-12", "high"}, "e-" + cabinet,
          Urgency::high, "TOO HOT " + cabinet,         at("2026-03-06T02:14:00Z")};
}

TEST(RingJson, NobodyNeedsRinging) {
  RingPicture picture;
  picture.at = at("2026-03-06T02:14:00Z");
  EXPECT_EQ(to_json(picture), R"({"at":"2026-03-06T02:14:00.000Z","beat":30,"ring":false})");
}

TEST(RingJson, NamesEachAlarmAndContactOnceAndTheWorstFirst) {
  RingPicture picture;
  picture.at = at("2026-03-06T02:15:00Z");
  picture.id = "20260306T021400000Z-1-a";
  picture.calls = {call("mara", "a"), call("jonas", "a"), call("mara", "b")};
  picture.calls[2].urgency = Urgency::medium;
  picture.calls[2].key.batch.clear();
  picture.confirmed_at = at("2026-03-06T02:14:30Z");
  picture.confirmed_by = "bedside";
  EXPECT_EQ(
      to_json(picture),
      R"({"at":"2026-03-06T02:15:00.000Z","beat":30,"ring":true,"urgency":"high",)"
      R"("id":"20260306T021400000Z-1-a","contacts":["mara","jonas"],"first_line":"TOO HOT a",)"
      R"("since":"2026-03-06T02:14:00.000Z","confirmed_at":"2026-03-06T02:14:30.000Z",)"
      R"("confirmed_by":"bedside","alarms":[{"cabinet":"a","batch":"hens-12","alarm":"high",)"
      R"("episode":"e-a"},{"cabinet":"b","batch":null,"alarm":"high","episode":"e-b"}],"more":0})");
}

TEST(RingJson, AStormIsCountedNotWrittenOut) {
  RingPicture picture;
  for (int i = 0; i < 500; ++i) picture.calls.push_back(call("mara", "c" + std::to_string(i)));
  const std::string json = to_json(picture);
  EXPECT_LT(json.size(), 4096u);
  EXPECT_NE(json.find("\"more\":480}"), std::string::npos) << json;
}

TEST(Confirmation, MayBeEmptyOrSayWhatAndWho) {
  EXPECT_EQ(*parse_confirmation(""), RingConfirmation{});
  EXPECT_EQ(*parse_confirmation("{}"), RingConfirmation{});
  EXPECT_EQ(*parse_confirmation(R"({"id":"m1","by":"bedside","battery":3})"),
            (RingConfirmation{"m1", "bedside"}));
}

TEST(Confirmation, RefusesWhatItCannotRead) {
  EXPECT_EQ(parse_confirmation("ok").why(),
            "it is ok; expected nothing, or an object such as {\"id\":\"...\",\"by\":\"bedside\"}");
  EXPECT_EQ(*parse_confirmation(R"({"id":null,"by":null})"), RingConfirmation{})
      << "as a ring says it that has none";
  EXPECT_EQ(parse_confirmation(R"({"id":7})").why(), "its id is no text");
  EXPECT_FALSE(parse_confirmation(std::string(100'000, ' ')));
}

}  // namespace
}  // namespace clutchward
