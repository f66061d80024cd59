// State as YAML: what is written is read back as the same Tree by the small reader and by the
// library alike, and what a person's editor makes of it loads too.
#include <gtest/gtest.h>

#include <random>

#include "store/yaml_read.h"
#include "store/yaml_write.h"

namespace clutchward {
namespace {

std::string written(const Tree& map) {
  std::string out;
  for (const auto& [key, value] : map.members) write_member(key, value, 0, out);
  return out;
}

TEST(YamlWrite, WritesBlocksThatAPersonCanRead) {
  Tree probe = Tree::map();
  probe.add("name", "upper").add("last", "37.8");
  Tree map = Tree::map();
  map.add("day", "18")
      .add("no", "off")
      .add("Mara's key", "a \"b\" \\ c\nd\te\x01")
      .add("probes", Tree::list().add(probe).add(Tree("x")).add(Tree::list().add(Tree("y"))))
      .add("none", Tree::list())
      .add("nothing", Tree::map());
  EXPECT_EQ(written(map),
            "day: \"18\"\n"
            "\"no\": \"off\"\n"
            "\"Mara's key\": \"a \\\"b\\\" \\\\ c\\nd\\u0009e\\u0001\"\n"
            "probes:\n"
            "  - name: \"upper\"\n"
            "    last: \"37.8\"\n"
            "  - \"x\"\n"
            "  - - \"y\"\n"
            "none: []\n"
            "nothing: {}\n");
}

TEST(YamlWrite, ReplacesBytesThatAreNotUtf8) {
  std::string out;
  write_quoted("a\xFFz\xC3", out);
  EXPECT_EQ(out, "\"a\xEF\xBF\xBDz\xEF\xBF\xBD\"");
}

Tree random_tree(std::mt19937& random, int depth) {
  static const std::vector<std::string> kTexts = {"",
                                                  "no",
                                                  "007",
                                                  "1e3",
                                                  "~",
                                                  "null",
                                                  "a: b",
                                                  "- x",
                                                  "#",
                                                  "\n",
                                                  "\r\n",
                                                  "\t",
                                                  "\\",
                                                  "\"",
                                                  "'",
                                                  " lead",
                                                  "trail ",
                                                  "---",
                                                  "...",
                                                  "&a",
                                                  "*a",
                                                  "!t",
                                                  "%",
                                                  "@",
                                                  "{}",
                                                  "[]",
                                                  std::string(1, '\0'),
                                                  "\x7F",
                                                  "\xC2\x85",
                                                  "\xC2\xA0",
                                                  "\xE2\x80\xA8",
                                                  "\xEF\xBB\xBF",
                                                  "\xEF\xBF\xBE",
                                                  "\xC3\xA9",
                                                  "\xF0\x9F\x90\xA3",
                                                  "set:\nchecksum: 1\n...\n---\n"};
  const auto text = [&] { return kTexts[random() % kTexts.size()] + (random() % 2 ? "" : "w"); };
  const unsigned kind = depth == 0 ? 0 : random() % 3;
  if (kind == 0) return Tree(text());
  Tree tree = kind == 1 ? Tree::list() : Tree::map();
  for (unsigned i = random() % 4; i > 0; --i) {
    Tree value = random_tree(random, depth - 1);
    if (kind == 1)
      tree.add(std::move(value));
    else
      tree.add(text() + std::to_string(i), std::move(value));
  }
  return tree;
}

TEST(YamlRead, BothReadersGiveBackWhatWasWritten) {
  std::mt19937 random(20260301);
  for (int i = 0; i < 3000; ++i) {
    Tree map = Tree::map();
    map.add("first", random_tree(random, 5)).add("second", random_tree(random, 2));
    const std::string text = written(map);
    const auto own = read_own_yaml(text);
    ASSERT_TRUE(own) << text;
    ASSERT_EQ(*own, map) << text;
    const auto any = read_any_yaml(text);
    ASSERT_TRUE(any) << any.why() << "\n" << text;
    ASSERT_EQ(*any, map) << text;
  }
}

TEST(YamlRead, TheSmallReaderTakesNothingElse) {
  for (const std::string text :
       {"a: b\n", "a: 'b'\n", "a: \"b\"", "a:  \"b\"\n", "a: \"b\" \n", "a:\n    b: \"c\"\n",
        "a: \"\\x41\"\n", "a: \"b\"\r\n", "a: \"b\n", "- \"a\"\n", "a: \"\\uD800\"\n",
        " a: \"b\"\n", "a:\n- \"b\"\n", "a: \"b\"\n\n", "A: \"b\"\n", "a: \"b\"\n  c: \"d\"\n"})
    EXPECT_FALSE(read_own_yaml(text)) << text;
}

TEST(YamlRead, TakesWhatAnEditorMakesOfIt) {
  const auto tree = read_yaml(
      "# Odile's note\r\na: 18\r\nb: no\r\nc: [x, 'y']\r\nd:\r\n    e: \"f\"   # why\r\n\r\n");
  ASSERT_TRUE(tree) << tree.why();
  Tree expected = Tree::map();
  expected.add("a", "18").add("b", "no").add("c", Tree::list().add(Tree("x")).add(Tree("y")));
  expected.add("d", Tree::map().add("e", "f"));
  EXPECT_EQ(*tree, expected);
}

TEST(YamlRead, RefusesWhatMayBeMeantOtherwise) {
  const std::vector<std::pair<std::string, std::string>> cases = {
      {"a: 1\na: 2\n", "2:1: the key \"a\" stands here a second time"},
      {"a:\n",
       "2:1: nothing stands here, expected a text (\"\" for an empty one), a list or a map"},
      {"a: ~\n",
       "1:4: nothing stands here, expected a text (\"\" for an empty one), a list or a map"},
      {"a: &x 1\nb: *x\n", "1:4: an anchor stands here, expected a plain value"},
      {"a: !!int 1\n", "1:4: the tag tag:yaml.org,2002:int stands here, expected a plain value"},
      {"  a: 1\nb: 2\n", "2:1: a second document begins here, expected one"},
      {"a: 1\n---\nb: 2\n", "2:1: a second document begins here, expected one"},
      {"? [a]\n: b\n", "1:3: a key that is no text, expected a text"},
      {"- a\n", "1:1: no map, expected one"},
      {",", "1:1: nothing stands here, expected a text (\"\" for an empty one), a list or a map"},
      {std::string("a: \"\0\"\n", 7), "1:1: a NUL byte in the text"},
      {"a: \"\xFF\"\n", "1:1: bytes that are not UTF-8"}};
  for (const auto& [text, why] : cases) {
    const auto tree = read_any_yaml(text);
    EXPECT_FALSE(tree) << text;
    EXPECT_EQ(tree.why(), why) << text;
  }
  EXPECT_FALSE(read_any_yaml(std::string(1'000'000, '[')));
  EXPECT_FALSE(read_any_yaml(""));
  std::string deep;
  for (int i = 0; i < 60; ++i) deep += std::string(static_cast<std::size_t>(i), ' ') + "a:\n";
  EXPECT_FALSE(read_own_yaml(deep + std::string(60, ' ') + "b: \"c\"\n"));
}

}  // namespace
}  // namespace clutchward
