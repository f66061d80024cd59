// Text that is broken, cut off or made to hurt: always Settings or Problems, never a crash, an
// exception or a wait. (How long is not measured here; a hang shows as a test that does not end.)
#include <gtest/gtest.h>

#include <filesystem>
#include <random>

#include "base/limits.h"
#include "config/load.h"
#include "folder.h"

namespace clutchward {
namespace {

std::string good_text() { return read_whole_file(TEST_DATA "/good_config/interfaces.yaml"); }

// Whatever the text: problems stand in order, have a place and a sentence.
Loaded check(const std::string& text) {
  const Loaded loaded = parse_settings(text, "x.yaml");
  for (const std::vector<Problem>* list : {&loaded.problems, &loaded.warnings}) {
    const Problem* before = nullptr;
    for (const Problem& problem : *list) {
      EXPECT_EQ(problem.file, "x.yaml");
      EXPECT_GE(problem.line, 1);
      EXPECT_GE(problem.column, 1);
      EXPECT_FALSE(problem.what.empty());
      EXPECT_LT(problem.what.size(), 1000u) << problem.what;
      EXPECT_EQ(problem.what.find_first_of("\n\r\t"), std::string::npos) << problem.what;
      if (before != nullptr) {
        EXPECT_LE(std::tie(before->line, before->column), std::tie(problem.line, problem.column));
      }
      before = &problem;
    }
  }
  return loaded;
}

TEST(Hostile, EveryPrefixOfAGoodConfigurationIsReadOrRefused) {
  const std::string text = good_text();
  for (std::size_t length = 0; length < text.size(); ++length) check(text.substr(0, length));
}

TEST(Hostile, APrefixThatLosesARequiredKeyIsNeverAccepted) {
  const std::string text = good_text();
  const std::size_t patterns = text.find("patterns:");
  for (std::size_t length = 0; length < patterns; ++length) {
    EXPECT_FALSE(check(text.substr(0, length)).problems.empty()) << length;
  }
}

TEST(Hostile, TwoThousandSeededMutationsAreReadOrRefused) {
  const std::string text = good_text();
  std::mt19937 random(20260301);
  const auto below = [&](std::size_t bound) { return random() % bound; };
  const std::string bites = "{}[]:,#&*!|>'\"%@`-?~\n\t \\0\xC3\xFF";
  for (int round = 0; round < 2000; ++round) {
    std::string mutant = text;
    for (std::size_t edits = 1 + below(4); edits > 0; --edits) {
      const std::size_t at = below(mutant.size());
      switch (below(5)) {
        case 0:
          mutant[at] = static_cast<char>(below(256));
          break;
        case 1:
          mutant[at] = bites[below(bites.size())];
          break;
        case 2:
          mutant.insert(at, 1, bites[below(bites.size())]);
          break;
        case 3:
          mutant.erase(at, 1 + below(8));
          break;
        default:
          mutant.insert(at, mutant.substr(below(mutant.size()), below(40)));
          break;
      }
    }
    check(mutant);
  }
}

TEST(Hostile, ALongTailOfBracketsEndsAtTheDepth) {
  for (const char* piece :
       {"[",           "{a: ", "- ",  "? ",   "[a, ",  "{[",     "'",        "\"",
        "!!a ",        "&a ",  "*a ", ",",    ":",     "a: b: ", "|\n",      "--- \n",
        "%YAML 1.2\n", "\\",   "a\n", "- \n", "a:\n ", "{a, ",   "\"\\u0000"}) {
    std::string text;
    while (text.size() < 64 * 1024) text += piece;
    const Loaded loaded = check(text);
    EXPECT_FALSE(loaded.problems.empty()) << piece;
  }
}

TEST(Hostile, MoreValuesThanAnyConfigurationNeedsAreRefused) {
  std::string text = "site: [";
  for (std::size_t i = 0; i <= limits::kYamlNodes; ++i) text += "1,";
  EXPECT_EQ(to_text(check(text + "]\n").problems.at(0)),
            "x.yaml:1:400008: more than 200000 values; no configuration needs so many");
}

TEST(Hostile, NestingIsAllowedToTheLimitAndNoFurther) {
  const std::string deepest(limits::kYamlDepth - 1, '[');
  EXPECT_EQ(to_text(check("site: " + deepest + std::string(deepest.size(), ']')).problems.at(0)),
            "x.yaml:1:1: broker is missing; expected a map with url and base");
  EXPECT_EQ(
      to_text(check("site: [" + deepest + std::string(deepest.size(), ']') + "]").problems.at(0)),
      "x.yaml:1:26: nested deeper than 20 levels; no configuration needs so many");
}

TEST(Hostile, ThousandsOfFaultsAreToldInPart) {
  std::string text;
  for (int i = 0; i < 50'000; ++i) text += "key" + std::to_string(i) + ": 1\n";
  const Loaded loaded = check(text);
  ASSERT_EQ(loaded.problems.size(), Faults::kMost + 1);
  EXPECT_EQ(loaded.problems.back().what, "49803 more faults are not listed; mend these first");
}

TEST(Hostile, ManyBatchesWithWrongNamesCostNoMoreThanTheirNumber) {
  std::string text = "profiles: {}\ncabinets:\n";
  for (int i = 0; i < 9'000; ++i) text += "  cabinet-" + std::to_string(i) + ": {}\n";
  text += "batches:\n";
  for (int i = 0; i < 9'000; ++i) {
    text += "  - { id: b" + std::to_string(i) + ", profile: nowhere, cabinet: kabinet }\n";
  }
  EXPECT_EQ(check(text).problems.size(), Faults::kMost + 1);
}

}  // namespace
}  // namespace clutchward
