// Every case of tests/payloads: bytes in, readings or named rejections out.
#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "reading/decode.h"

namespace clutchward {
namespace {

namespace fs = std::filesystem;

struct Expected {
  FieldPattern field;
  std::string result;
  std::string line;
};

std::string bytes_of(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  EXPECT_TRUE(file) << path;
  return {std::istreambuf_iterator<char>(file), {}};
}

std::vector<Expected> expectations(const fs::path& path) {
  std::vector<Expected> all;
  std::istringstream lines(bytes_of(path));
  for (std::string line; std::getline(lines, line);) {
    if (line.empty() || line.front() == '#') continue;
    const std::size_t equals = line.rfind(" = ");
    std::istringstream words(line.substr(0, equals));
    std::string quantity, unit, pointer;
    words >> quantity >> unit;
    if (equals == std::string::npos || !quantity_named(quantity) ||
        (unit != "-" && unit != "C" && unit != "F")) {
      ADD_FAILURE() << path << ": \"" << line << "\" is not QUANTITY UNIT [POINTER] = RESULT";
      continue;
    }
    words.get();
    std::getline(words, pointer);
    Expected expected;
    expected.field.pointer = pointer;
    expected.field.quantity = *quantity_named(quantity);
    expected.field.unit = unit == "F" ? Unit::fahrenheit : unit == "C" ? Unit::celsius : Unit::own;
    expected.result = line.substr(equals + 3);
    expected.line = line;
    all.push_back(expected);
  }
  return all;
}

std::string shown(const Decoded& decoded) {
  if (const auto* value = std::get_if<Milli>(&decoded)) return std::to_string(*value);
  return std::string(name_of(std::get<Rejection>(decoded)));
}

std::vector<std::string> cases(const std::string& format, const char* ending) {
  std::vector<std::string> names;
  for (const auto& entry : fs::directory_iterator(fs::path(TEST_DATA) / "payloads" / format))
    if (entry.path().extension() == ending) names.push_back(entry.path().stem());
  std::sort(names.begin(), names.end());
  return names;
}

fs::path file_of(const std::string& format, const std::string& name, const char* ending) {
  return fs::path(TEST_DATA) / "payloads" / format / (name + ending);
}

class PlainPayload : public ::testing::TestWithParam<std::string> {};

TEST_P(PlainPayload, MeansWhatItsFileExpects) {
  const std::string payload = bytes_of(file_of("plain", GetParam(), ".payload"));
  const auto expected = expectations(file_of("plain", GetParam(), ".expect"));
  ASSERT_FALSE(expected.empty());
  for (const Expected& one : expected)
    EXPECT_EQ(shown(decode_plain(payload, one.field.quantity, one.field.unit)), one.result)
        << one.line;
}

class JsonPayload : public ::testing::TestWithParam<std::string> {
 protected:
  // One for all cases: what one payload leaves behind must not colour the next.
  static JsonDecoder& decoder() {
    static JsonDecoder one;
    return one;
  }
};

TEST_P(JsonPayload, MeansWhatItsFileExpects) {
  const std::string payload = bytes_of(file_of("json", GetParam(), ".payload"));
  const auto expected = expectations(file_of("json", GetParam(), ".expect"));
  ASSERT_FALSE(expected.empty());
  std::vector<FieldPattern> fields;
  for (const Expected& one : expected) fields.push_back(one.field);
  const auto readings = decoder().decode(payload, fields);
  ASSERT_EQ(readings.size(), expected.size());
  for (std::size_t i = 0; i < expected.size(); ++i) {
    EXPECT_EQ(readings[i].field, &fields[i]);
    EXPECT_EQ(shown(readings[i].value), expected[i].result) << expected[i].line;
  }
}

const auto kNamed = [](const auto& named) { return named.param; };
INSTANTIATE_TEST_SUITE_P(Files, PlainPayload, ::testing::ValuesIn(cases("plain", ".payload")),
                         kNamed);
INSTANTIATE_TEST_SUITE_P(Files, JsonPayload, ::testing::ValuesIn(cases("json", ".payload")),
                         kNamed);

TEST(PayloadFiles, ComeInPairs) {
  for (const char* format : {"plain", "json"})
    EXPECT_EQ(cases(format, ".payload"), cases(format, ".expect"));
}

}  // namespace
}  // namespace clutchward
