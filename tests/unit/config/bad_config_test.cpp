// Every file of tests/bad_config/ against the messages that stand in its first lines, whole: "#!"
// for problems, "#?" for warnings, in the order in which they are told.
#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include "config/load.h"

namespace clutchward {
namespace {

namespace fs = std::filesystem;

std::vector<std::string> bad_files() {
  std::vector<std::string> names;
  for (const auto& entry : fs::directory_iterator(fs::path(TEST_DATA) / "bad_config")) {
    if (entry.path().extension() == ".yaml") names.push_back(entry.path().stem().string());
  }
  std::sort(names.begin(), names.end());
  return names;
}

std::vector<std::string> expected_of(const fs::path& file) {
  std::vector<std::string> lines;
  std::ifstream stream(file);
  for (std::string line; std::getline(stream, line);) {
    if (!line.starts_with("#! ") && !line.starts_with("#? ")) break;
    lines.push_back(line);
  }
  return lines;
}

class BadConfig : public testing::TestWithParam<std::string> {};

TEST_P(BadConfig, TellsExactlyWhatIsWrongAndWhere) {
  // Names of files in messages are relative to the folder.
  fs::current_path(fs::path(TEST_DATA) / "bad_config");
  const std::string file = GetParam() + ".yaml";
  const std::vector<std::string> expected = expected_of(file);
  ASSERT_FALSE(expected.empty());
  const Loaded loaded = load_settings(file, {});
  std::vector<std::string> found;
  for (const Problem& problem : loaded.problems) {
    ASSERT_EQ(problem.file, file);
    found.push_back("#! " + to_text(problem).substr(file.size() + 1));
  }
  for (const Problem& warning : loaded.warnings) {
    ASSERT_EQ(warning.file, file);
    found.push_back("#? " + to_text(warning).substr(file.size() + 1));
  }
  EXPECT_EQ(found, expected);
}

INSTANTIATE_TEST_SUITE_P(Files, BadConfig, testing::ValuesIn(bad_files()),
                         [](const auto& file) { return file.param; });

TEST(BadConfigFolder, IsLargeEnoughToMeanSomething) { EXPECT_GE(bad_files().size(), 60u); }

}  // namespace
}  // namespace clutchward
