// Topic patterns: their faults word for word, and matching against the broker's own library.
#include "reading/pattern.h"

#include <gtest/gtest.h>
#include <mosquitto.h>

#include <random>

#include "base/limits.h"

namespace clutchward {
namespace {

TopicPattern plain(std::string topic) {
  TopicPattern pattern;
  pattern.topic = std::move(topic);
  pattern.quantity = Quantity::temperature;
  return pattern;
}

TEST(TopicFilter, NamedLevelsBecomeWildcards) {
  EXPECT_EQ(topic_filter(plain("farm/{cabinet}/{probe}/temperature")), "farm/+/+/temperature");
  EXPECT_EQ(topic_filter(plain("{cabinet}")), "+");
  EXPECT_EQ(topic_filter(plain("/a//{cabinet}/+/#")), "/a//+/+/#");
  EXPECT_EQ(topic_filter(plain("a/")), "a/");
}

TEST(PatternFault, NoneWhereItCanWork) {
  for (const char* topic :
       {"farm/{cabinet}/{probe}/temperature", "{cabinet}/{probe}", "{cabinet}/#", "/{cabinet}",
        "a//{cabinet}", "+/{cabinet}/+/#", "$meters/{cabinet}"})
    EXPECT_EQ(pattern_fault(plain(topic)), "") << topic;
  TopicPattern fixed = plain("hall/7/t");
  fixed.cabinet = "setter-a";
  fixed.probe = "top";
  fixed.unit = Unit::fahrenheit;
  EXPECT_EQ(pattern_fault(fixed), "");
  TopicPattern json = plain("meters/{cabinet}");
  json.quantity.reset();
  json.fields = {{"/outer/temperature", "top", Quantity::temperature, Unit::fahrenheit},
                 {"", "", Quantity::humidity, Unit::own}};
  EXPECT_EQ(pattern_fault(json), "");
}

TEST(PatternFault, SaysWhatWasFoundAndExpected) {
  const std::pair<const char*, const char*> cases[] = {
      {"", "the topic is empty; expected levels such as farm/{cabinet}/{probe}/temperature"},
      {"{cabinet}/{cabinet}", "the topic names {cabinet} twice; expected it at one level"},
      {"{cabinet}/{probe}/{probe}", "the topic names {probe} twice; expected it at one level"},
      {"farm/+/t",
       "the topic \"farm/+/t\" names no cabinet; expected a level {cabinet} or the key cabinet "
       "beside it"},
      {"#/{cabinet}", "'#' stands before the end of the topic; expected it as the last level only"},
      {"farm/{cabinett}",
       "the level \"{cabinett}\" is no known name; expected {cabinet}, {probe} or a word without "
       "braces"},
      {"farm/x{cabinet}",
       "the level \"x{cabinet}\" is no known name; expected {cabinet}, {probe} or a word without "
       "braces"},
      {"{cabinet}/a+",
       "the level \"a+\" mixes a wildcard with a word; expected '+' or '#' as a whole level"},
      {"{cabinet}/a#",
       "the level \"a#\" mixes a wildcard with a word; expected '+' or '#' as a whole level"},
      {"{cabinet}/\n",
       "the topic \"{cabinet}/\\n\" holds a control character or is not UTF-8; expected plain "
       "text"},
      {"{cabinet}/\xFF",
       "the topic \"{cabinet}/\\xFF\" holds a control character or is not UTF-8; expected plain "
       "text"},
  };
  for (const auto& [topic, fault] : cases) EXPECT_EQ(pattern_fault(plain(topic)), fault);
  EXPECT_EQ(pattern_fault(plain("{cabinet}/" + std::string(limits::kTopicBytes, 'x'))),
            "the topic has 522 bytes; expected at most 512");
}

TEST(PatternFault, SeesTheRestOfThePattern) {
  TopicPattern both = plain("{cabinet}/t");
  both.cabinet = "setter-a";
  EXPECT_EQ(
      pattern_fault(both),
      "the cabinet is given twice, by {cabinet} in the topic and as \"setter-a\"; expected one "
      "of the two");
  TopicPattern probes = plain("{cabinet}/{probe}");
  probes.probe = "top";
  EXPECT_EQ(pattern_fault(probes),
            "the probe is given twice, by {probe} in the topic and as \"top\"; expected one of the "
            "two");
  TopicPattern id = plain("t");
  id.cabinet = "setter a";
  EXPECT_EQ(pattern_fault(id),
            "the cabinet \"setter a\" is no id; expected 1 to 64 bytes without blanks, control "
            "characters, '/', '+' and '#'");
  TopicPattern nothing = plain("{cabinet}");
  nothing.quantity.reset();
  EXPECT_EQ(pattern_fault(nothing),
            "neither a quantity nor fields are given; expected quantity for a plain payload or "
            "fields for JSON");
  TopicPattern two = plain("{cabinet}");
  two.fields = {{"/t", "", Quantity::temperature, Unit::own}};
  EXPECT_EQ(pattern_fault(two),
            "both a quantity and fields are given; expected quantity for a plain payload or fields "
            "for JSON");
  TopicPattern unit = plain("{cabinet}");
  unit.quantity = Quantity::humidity;
  unit.unit = Unit::fahrenheit;
  EXPECT_EQ(pattern_fault(unit), "a unit of temperature is given for humidity; expected none");
  TopicPattern pointer = plain("{cabinet}");
  pointer.quantity.reset();
  pointer.fields = {{"temperature", "", Quantity::temperature, Unit::own}};
  EXPECT_EQ(pattern_fault(pointer),
            "the pointer \"temperature\" is no JSON pointer; expected \"\" or keys behind slashes "
            "such as /outer/temperature, with '~' written ~0 and '/' written ~1");
}

std::string matched(const TopicPattern& pattern, std::string_view topic) {
  const auto found = match(pattern, topic);
  if (found && !found->unfit.empty()) return "no id: " + std::string(found->unfit);
  return found ? std::string(found->cabinet) + " " + std::string(found->probe) : "none";
}

TEST(Match, TakesCabinetAndProbeFromTheTopic) {
  const TopicPattern pattern = plain("farm/{cabinet}/{probe}/temperature");
  EXPECT_EQ(matched(pattern, "farm/setter-a/top/temperature"), "setter-a top");
  EXPECT_EQ(matched(pattern, "farm/setter-a/top/humidity"), "none");
  EXPECT_EQ(matched(pattern, "farm/setter-a/top"), "none");
  EXPECT_EQ(matched(pattern, "farm/setter-a/top/temperature/x"), "none");
  EXPECT_EQ(matched(pattern, "farm/setter-a/top/temperature/"), "none");
  EXPECT_EQ(matched(plain("{probe}/of/{cabinet}"), "top/of/setter-a"), "setter-a top");
}

TEST(Match, FallsBackToFixedIdsAndToMain) {
  EXPECT_EQ(matched(plain("farm/{cabinet}/t"), "farm/a/t"), "a main");
  TopicPattern fixed = plain("hall/7/t");
  fixed.cabinet = "setter-a";
  EXPECT_EQ(matched(fixed, "hall/7/t"), "setter-a main");
  fixed.probe = "top";
  EXPECT_EQ(matched(fixed, "hall/7/t"), "setter-a top");
}

TEST(Match, NamesLevelsThatAreNoIds) {
  const TopicPattern pattern = plain("farm/{cabinet}/t");
  EXPECT_EQ(matched(pattern, "farm//t"), "no id:  ");
  EXPECT_EQ(matched(pattern, "farm/a b/t"), "no id: a b");
  EXPECT_EQ(matched(pattern, "farm/a b/h"), "none");
  EXPECT_EQ(matched(pattern, "farm/../t"), "no id: ..");
  EXPECT_EQ(matched(pattern, "farm/\xFF/t"), "no id: \xFF");
  EXPECT_EQ(matched(pattern, "farm/" + std::string(65, 'x') + "/t"),
            "no id: " + std::string(65, 'x'));
  EXPECT_EQ(matched(pattern, "farm/" + std::string(64, 'x') + "/t"),
            std::string(64, 'x') + " main");
}

// MQTT 3.1.1 section 4.7.1.2 and 4.7.2 (from memory): the parent level matches "/#"; wildcards at
// the first level do not match topics that begin with '$'.
TEST(Match, FollowsTheStandardAtItsEdges) {
  EXPECT_EQ(matched(plain("{cabinet}/#"), "setter-a"), "setter-a main");
  EXPECT_EQ(matched(plain("{cabinet}/#"), "setter-a/x/y"), "setter-a main");
  EXPECT_EQ(matched(plain("{cabinet}/#"), "$SYS/x"), "none");
  EXPECT_EQ(matched(plain("{cabinet}"), "$SYS"), "none");
  EXPECT_EQ(matched(plain("$SYS/{cabinet}"), "$SYS/x"), "x main");
  EXPECT_EQ(matched(plain("a/{cabinet}"), "a/$x"), "$x main");
  EXPECT_EQ(matched(plain("{cabinet}/+"), "a/"), "a main");
  EXPECT_EQ(matched(plain("{cabinet}/+"), "a"), "none");
  EXPECT_EQ(matched(plain("{cabinet}"), ""), "none");
  EXPECT_EQ(matched(plain("{cabinet}/#"), "a/+"), "none");
}

// Short alphabets, so that patterns and topics meet often. Named levels only match ids, so a topic
// whose named level is none is left out of the comparison.
TEST(Match, AgreesWithTheBrokersLibrary) {
  std::mt19937 random(311);
  const auto pick = [&](std::initializer_list<const char*> words) {
    return std::string(*(words.begin() + random() % words.size()));
  };
  int matches = 0;
  int dollars = 0;
  for (int i = 0; i < 60'000; ++i) {
    TopicPattern pattern = plain("");
    const bool named = random() % 2 == 0;
    if (!named) pattern.cabinet = "fixed";
    const std::size_t depth = 1 + random() % 4;
    const std::size_t cabinet_at = named ? random() % depth : depth;
    for (std::size_t level = 0; level < depth; ++level) {
      if (level > 0) pattern.topic += '/';
      if (level == cabinet_at)
        pattern.topic += "{cabinet}";
      else if (level + 1 == depth && random() % 4 == 0)
        pattern.topic += '#';
      else
        pattern.topic += pick({"a", "b", "", "+", "+", "$a", "$SYS", "ab", "{probe}"});
    }
    if (!pattern_fault(pattern).empty()) continue;

    std::string topic;
    const std::size_t levels = 1 + random() % 4;
    for (std::size_t level = 0; level < levels; ++level)
      topic += (level > 0 ? "/" : "") + pick({"a", "a", "b", "", "$a", "$SYS", "ab", "x"});
    if (topic.empty()) continue;

    const std::string filter = topic_filter(pattern);
    bool expected = false;
    ASSERT_EQ(mosquitto_sub_topic_check(filter.c_str()), MOSQ_ERR_SUCCESS) << filter;
    ASSERT_EQ(mosquitto_topic_matches_sub(filter.c_str(), topic.c_str(), &expected),
              MOSQ_ERR_SUCCESS);
    const auto found = match(pattern, topic);
    const bool no_id_possible = pattern.topic.find('{') != std::string::npos &&
                                ("/" + topic + "/").find("//") != std::string::npos;
    if (no_id_possible && expected && !found) continue;
    ASSERT_EQ(found.has_value(), expected) << pattern.topic << " and " << topic;
    matches += expected ? 1 : 0;
    dollars += topic.front() == '$' ? 1 : 0;
  }
  // The comparison is worth something only if both answers came often.
  EXPECT_GT(matches, 3000);
  EXPECT_GT(dollars, 5000);
}

}  // namespace
}  // namespace clutchward
