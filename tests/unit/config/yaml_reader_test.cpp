// The strict YAML layer by itself: what it keeps and where it stood.
#include "config/yaml_reader.h"

#include <gtest/gtest.h>

namespace clutchward {
namespace {

using Kind = YamlNode::Kind;

YamlNode good(const std::string& text) {
  Faults faults("x");
  const std::optional<YamlNode> root = read_yaml(text, faults);
  for (const Problem& problem : faults.problems()) ADD_FAILURE() << to_text(problem);
  return root.value_or(YamlNode{});
}

std::vector<std::string> faults_of(const std::string& text) {
  Faults faults("x");
  const std::optional<YamlNode> root = read_yaml(text, faults);
  std::vector<std::string> lines;
  for (const Problem& problem : faults.problems()) lines.push_back(to_text(problem));
  if (!root && lines.empty()) lines.push_back("nothing, and no word why");
  return lines;
}
using Lines = std::vector<std::string>;

TEST(Yaml, KeepsWordsAsTheyStandWithTheirPlaces) {
  const YamlNode root = good("a: off\nb:\n  - yes\n  - 'no'\n  - 010\nc: \"x\\ty\"\n");
  ASSERT_EQ(root.kind, Kind::map);
  ASSERT_EQ(root.members.size(), 3u);
  EXPECT_EQ(root.members[0].key, "a");
  EXPECT_EQ(root.members[0].node.text, "off");
  EXPECT_FALSE(root.members[0].node.quoted);
  EXPECT_EQ(root.members[0].node.place, (Place{1, 4}));
  EXPECT_EQ(root.members[1].key_place, (Place{2, 1}));
  const YamlNode& list = root.members[1].node;
  ASSERT_EQ(list.kind, Kind::list);
  EXPECT_EQ(list.members[0].node.text, "yes");
  EXPECT_EQ(list.members[1].node.text, "no");
  EXPECT_TRUE(list.members[1].node.quoted);
  EXPECT_EQ(list.members[1].node.place, (Place{4, 5}));
  EXPECT_EQ(list.members[2].node.text, "010");
  EXPECT_EQ(root.members[2].node.text, "x\ty");
}

TEST(Yaml, PlacesAValueThatIsMissingAtItsKey) {
  const YamlNode root = good("a:\n\n\nb: ~\nc: null\n");
  ASSERT_EQ(root.members.size(), 3u);
  for (const YamlMember& member : root.members) {
    EXPECT_EQ(member.node.kind, Kind::nothing) << member.key;
    EXPECT_EQ(member.node.place, member.key_place) << member.key;
  }
  EXPECT_EQ(root.members[1].key_place, (Place{4, 1}));
}

TEST(Yaml, AnEmptyTextIsNothing) {
  EXPECT_EQ(good("").kind, Kind::nothing);
  EXPECT_EQ(good("# only a comment\n").kind, Kind::nothing);
}

TEST(Yaml, ALineTooFarLeftIsAFaultAndNotTheEnd) {
  const std::string what =
      "what stands above ends here, because this line does not belong to it; expected it to be "
      "indented like the lines before it";
  EXPECT_EQ(faults_of("- a\nb: 1\n"), Lines{"x:2:1: " + what});
  EXPECT_EQ(faults_of("  a: 1\nb: 2\n"), Lines{"x:2:1: " + what});
  EXPECT_EQ(faults_of("  a: 1\n b: 2\n"), Lines{"x:2:2: " + what});
  EXPECT_EQ(faults_of("a: 1\n---\nb: 2\n"),
            Lines{"x:2:1: a second document begins here; expected one document"});
  EXPECT_EQ(faults_of("a: 1\n...\nb: 2\n"), Lines{"x:3:1: " + what});
  EXPECT_EQ(faults_of("a: 1\n---\n"),
            Lines{"x:2:1: a second document begins here; expected one document"});
}

TEST(Yaml, TextsInQuotesMustEnd) {
  EXPECT_EQ(faults_of("a: \"b\nc: d\n"),
            Lines{"x:1:4: a text in quotes begins here and does not end; expected \" behind it"});
  EXPECT_EQ(faults_of("a: 'b''\n"),
            Lines{"x:1:4: a text in quotes begins here and does not end; expected ' behind it"});
  // Without even a line's end behind it the library sees it by itself.
  EXPECT_EQ(faults_of("\"a"), Lines{"x:1:3: not readable as YAML: illegal EOF in scalar"});
  EXPECT_EQ(faults_of("a: \"b\\\"\n"),
            Lines{"x:1:4: a text in quotes begins here and does not end; expected \" behind it"});
  EXPECT_EQ(good("a: \"b\\\"\"\nb: ''''\nc: |\n  it's\n").members.size(), 3u);
}

TEST(Yaml, RefusesBytesThatAreNoText) {
  EXPECT_EQ(faults_of("a: \xFF\n"),
            Lines{"x:1:4: a byte stands here that is not UTF-8; expected the file to be saved as "
                  "UTF-8"});
  EXPECT_EQ(faults_of("a: 1\nb: \xC3"),
            Lines{"x:2:4: a byte stands here that is not UTF-8; expected the file to be saved as "
                  "UTF-8"});
  EXPECT_EQ(faults_of(std::string("a: 1\0", 5)),
            Lines{"x:1:5: the control character \\x00 stands here; expected plain text in UTF-8"});
  EXPECT_EQ(faults_of("a: 1\rb: 2\n"),
            Lines{"x:1:5: the control character \\r stands here; expected plain text in UTF-8"});
  EXPECT_EQ(faults_of(" \ta: 1\n"),
            Lines{"x:1:2: a tab stands in the indentation; expected blanks"});
  EXPECT_EQ(faults_of(std::string("\xFF\xFE"
                                  "a\0",
                                  4)),
            Lines{"x:1:1: a byte stands here that is not UTF-8; expected the file to be saved as "
                  "UTF-8"});
}

}  // namespace
}  // namespace clutchward
