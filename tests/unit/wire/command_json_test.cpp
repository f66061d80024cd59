// Commands in, replies out: every refusal a whole sentence, every command the same after a round
// trip.
#include "wire/command_json.h"

#include <gtest/gtest.h>

#include <chrono>
#include <vector>

namespace clutchward {
namespace {

using namespace std::chrono_literals;

std::string why(std::string_view json) {
  const auto command = parse_command(json);
  return command ? "taken" : command.why();
}

TEST(ParseCommand, TheExampleOfTheInterfaces) {
  const auto command = parse_command(
      R"({"id":"c-1","by":"mara","do":"snooze","cabinet":"setter-a","batch":"hens-12","alarm":"high","minutes":30})");
  ASSERT_TRUE(command) << command.why();
  Command expected;
  expected.id = "c-1";
  expected.by = "mara";
  expected.deed = Deed::snooze;
  expected.cabinet = "setter-a";
  expected.batch = "hens-12";
  expected.alarm = "high";
  expected.minutes = 30;
  EXPECT_EQ(*command, expected);
}

TEST(ParseCommand, EveryDeedByName) {
  for (std::size_t i = 0; i < kDeedNames.size(); ++i) {
    const auto command = parse_command(R"({"do":")" + std::string(kDeedNames[i]) + "\"}");
    ASSERT_TRUE(command) << command.why();
    EXPECT_EQ(command->deed, static_cast<Deed>(i));
  }
}

TEST(ParseCommand, RefusalsAreWholeSentences) {
  const std::string deeds =
      "acknowledge, snooze, unsnooze, reset, pass_on, attend, attended, out_of_service, "
      "in_service, "
      "turned, cool, batch_start, batch_move, batch_end";
  EXPECT_EQ(why("not json"), "not a JSON object: not json");
  EXPECT_EQ(why(""), "not a JSON object: ");
  EXPECT_EQ(why("[]"), "not a JSON object: []");
  EXPECT_EQ(why("null"), "not a JSON object: null");
  EXPECT_EQ(why(R"({"cabinet":"a"})"), "do is missing: what is to be done?");
  EXPECT_EQ(why(R"({"do":"acknowledge","cabinett":"a"})"),
            R"(unknown key "cabinett"; did you mean "cabinet"?)");
  EXPECT_EQ(why(R"({"do":"acknowledge","zzzzzz":"a"})"), R"(unknown key "zzzzzz")");
  EXPECT_EQ(why(R"({"do":"acknowledge","minutes":"ten"})"),
            R"(minutes is "ten"; expected a number of minutes)");
  EXPECT_EQ(why(R"({"do":"acknowledge","cabinet":7})"), "cabinet is 7; expected a text");
  EXPECT_EQ(why(R"({"do":"out_of_service","until":"tomorrow"})"),
            R"(until is "tomorrow"; expected a time such as "2026-03-01T08:00:00Z")");
  EXPECT_EQ(why(R"({"do":"batch_start","eggs":1.5})"), "eggs is 1.5; expected a whole number");
  EXPECT_EQ(why(R"({"do":"batch_start","eggs":-1})"), "eggs is -1; expected a whole number");
  EXPECT_EQ(why(R"({"do":"acknowledge","do":"reset"})"), "a key stands twice in the command");
  const std::string unknown = why(R"({"do":"acknowlege"})");
  EXPECT_EQ(unknown.find(R"(do is "acknowlege"; expected one of )" + deeds), 0u) << unknown;
  EXPECT_TRUE(unknown.ends_with(R"(; did you mean "acknowledge"?)")) << unknown;
}

TEST(ParseCommand, IdsThatCannotStandInATopic) {
  const std::vector<std::string> ids{"a/b", "a+", "#", "a\\u0001", std::string(129, 'x')};
  for (const std::string& id : ids) {
    SCOPED_TRACE(id);
    const std::string said = why(R"({"do":"reset","id":")" + id + "\"}");
    EXPECT_EQ(said.find("id is "), 0u) << said;
  }
  EXPECT_EQ(why(R"({"do":"reset","id":")" + std::string(128, 'x') + "\"}"), "taken");
}

TEST(ParseCommand, Bounded) {
  const std::string big = R"({"do":"reset","reason":")" + std::string(9000, 'x') + "\"}";
  EXPECT_EQ(why(big),
            "the command has " + std::to_string(big.size()) + " bytes; expected at most 8192");
  const std::string reason = R"({"do":"reset","reason":")" + std::string(201, 'x') + "\"}";
  EXPECT_EQ(why(reason).find("by, reason, contact and note take at most 200 bytes"), 0u);
  std::string deep = R"({"do":"reset","reason":)" + std::string(4000, '[');
  EXPECT_EQ(why(deep).find("not a JSON object"), 0u);
  EXPECT_EQ(why(std::string("{\"do\":\"reset\"}\0x", 16)).find("not a JSON object"), 0u);
}

TEST(ParseCommand, RefusedObjectsCanBeAnswered) {
  EXPECT_EQ(id_of_refused(R"({"id":"c-1","do":"?"})"), "c-1");
  EXPECT_EQ(id_of_refused(R"({"id":"a/b","do":"?"})"), "");
  EXPECT_EQ(id_of_refused(R"({"id":7})"), "");
  EXPECT_EQ(id_of_refused("no object"), "");
}

TEST(CommandJson, RoundTrip) {
  Command command;
  command.id = "c-1";
  command.by = "Odile";
  command.deed = Deed::batch_start;
  command.cabinet = "setter-a";
  command.batch = "hens-12";
  command.alarm = "high";
  command.episode = "high-1772356800000";
  command.minutes = 0.25;
  command.until = Wall{1772356800123ms};
  command.reason = "new fan";
  command.profile = "bench-hen";
  command.set_at = Wall{1772356800000ms};
  command.eggs = 48;
  command.to = "setter-b";
  command.contact = "mara";
  const auto back = parse_command(to_json(command));
  ASSERT_TRUE(back) << back.why();
  EXPECT_EQ(*back, command);
}

TEST(ReplyJson, AsTheInterfacesHaveIt) {
  EXPECT_EQ(to_json(Reply{"c-1", true, ""}), R"({"id":"c-1","ok":true})");
  EXPECT_EQ(to_json(Reply{"c-1", false, "not snoozed"}),
            R"({"id":"c-1","ok":false,"why":"not snoozed"})");
}

}  // namespace
}  // namespace clutchward
