// The shipped profiles against the published species tables, and the promise that no figure in them
// stands without its source. Reads the YAML as it is; what config/ makes of it is tested there.
#include <gtest/gtest.h>
#include <yaml-cpp/yaml.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

namespace clutchward {
namespace {

struct Spread {
  double low, high;
};

// Days and transfer days: spread of the sources whose text was seen. "Birds table": conditions for
// common birds, reposted, publisher not visible. "Lists": a reposted extension list, the list of
// the Poultry Producer, Mississippi State's periods. Temperatures of the setter in F: spread of the
// birds table (seen) and of two charts of US extension services (from memory).
struct Species {
  const char* id;
  Spread days;
  std::optional<Spread> transfer;  // birds table
  Spread setter_f;
  // Last day of turning: birds table (transfer, seen), two charts of US extension services (from
  // memory); ratites: a farm's page (seen).
  Spread no_turn;
  const char* sources;
};
void PrintTo(const Species& species, std::ostream* out) { *out << species.id; }

constexpr std::optional<Spread> kNone;
const Species kSpecies[] = {
    {"hen", {21, 21}, Spread{18, 18}, {99.5, 100}, {18, 19}, "birds table, lists"},
    {"turkey", {28, 28}, Spread{25, 25}, {99, 99.5}, {25, 25}, "birds table, lists"},
    {"duck", {28, 28}, Spread{25, 25}, {99.5, 100}, {25, 25}, "birds table, lists"},
    {"muscovy", {33, 37}, Spread{31, 33}, {99.5, 100}, {31, 33}, "birds table, lists"},
    // Transfer: birds table 27 (seen), both charts 25 (from memory).
    {"goose",
     {28, 33},
     Spread{25, 27},
     {99, 99.5},
     {25, 27},
     "birds table, lists, Raising Poultry p. 296"},
    {"guinea-fowl", {26, 28}, Spread{25, 25}, {99.5, 100}, {25, 25}, "birds table, lists"},
    {"pheasant",
     {23, 26},
     Spread{21, 21},
     {99.5, 100},
     {21, 21},
     "birds table (ring-necked), lists"},
    {"peafowl", {28, 29}, Spread{25, 26}, {99, 99.5}, {25, 26}, "birds table, list"},
    {"japanese-quail",
     {16, 18},
     Spread{15, 15},
     {99.5, 100},
     {15, 15},
     "birds table, lists, Romao 2009"},
    {"bobwhite-quail", {23, 24}, Spread{21, 21}, {99.5, 100}, {20, 21}, "birds table, lists"},
    {"chukar", {22, 24}, Spread{20, 20}, {99.5, 100}, {20, 20}, "birds table, lists"},
    {"pigeon", {16, 19}, Spread{14, 14}, {99.75, 100.5}, {14, 15}, "birds table, list"},
    {"swan", {33, 37}, Spread{30, 33}, {99.5, 99.5}, {30, 33}, "birds table, list"},
    {"ostrich",
     {42, 45},
     Spread{39, 39},
     {96.8, 97.7},
     {39, 39},
     "birds table, FAO, Hand-Rearing Birds 4.1"},
    {"emu", {49, 52}, Spread{47, 47}, {97, 97.5}, {47, 49}, "birds table, Hand-Rearing Birds 4.1"},
    // No transfer day was seen for rheas.
    {"rhea", {36, 42}, kNone, {97.5, 97.5}, {33, 39}, "birds table, Hand-Rearing Birds 4.1"},
    // No table has a row for bantams: 19 to 21 days and a setter as the hen's, common practice, no
    // published source.
    {"bantam", {19, 21}, kNone, {99.5, 100}, {16, 18}, "common practice"},
};

std::filesystem::path profiles() { return std::filesystem::path(PROJECT_ROOT) / "config/profiles"; }

std::filesystem::path file_of(const std::string& id) { return profiles() / (id + ".yaml"); }

double celsius(double f) { return (f - 32) / 1.8; }
// A target is written to a tenth of a degree C.
constexpr double kRounding = 0.06;

// Ostrich chicks are reported from day 39 on (a farm's page, seen), three days under the tables.
constexpr double kEarly = 3;

// From when on the eggs lie still.
double first_still_day(const YAML::Node& profile) {
  for (const auto& stage : profile["stages"])
    if (stage["turn_every"] && stage["turn_every"].as<std::string>() == "off")
      return stage["from_day"].as<double>();
  return 0;
}

class SpeciesTable : public testing::TestWithParam<Species> {};

TEST_P(SpeciesTable, AgreesWithTheSourcesSeen) {
  const Species& species = GetParam();
  ASSERT_TRUE(std::filesystem::exists(file_of(species.id))) << file_of(species.id);
  const YAML::Node profile = YAML::LoadFile(file_of(species.id).string());
  const double days = profile["days"].as<double>();
  EXPECT_GE(days, species.days.low) << species.sources;
  EXPECT_LE(days, species.days.high) << species.sources;
  // Chicks come around the planned day, and no wider than the sources spread, but for the day
  // either side that is common practice.
  const double earliest = profile["earliest"].as<double>();
  const double latest = profile["latest"].as<double>();
  EXPECT_LE(earliest, days);
  EXPECT_GE(latest, days);
  EXPECT_GE(earliest, species.days.low - kEarly) << species.sources;
  EXPECT_LE(latest, species.days.high + 1) << species.sources;

  const YAML::Node first = profile["stages"][0];
  const YAML::Node last = profile["stages"][profile["stages"].size() - 1];
  EXPECT_GE(first["target"].as<double>(), celsius(species.setter_f.low) - kRounding);
  EXPECT_LE(first["target"].as<double>(), celsius(species.setter_f.high) + kRounding);
  const double lockdown = last["from_day"].as<double>();
  EXPECT_EQ(profile["transfer_day"].as<double>(), lockdown);
  const double no_turn = first_still_day(profile);
  EXPECT_GE(no_turn, species.no_turn.low) << species.sources;
  EXPECT_LE(no_turn, species.no_turn.high) << species.sources;
  if (species.transfer) {
    EXPECT_GE(lockdown, species.transfer->low) << species.sources;
    EXPECT_LE(lockdown, species.transfer->high) << species.sources;
  } else {
    EXPECT_EQ(lockdown, days - 3) << "the rule of all tables";
  }
}

INSTANTIATE_TEST_SUITE_P(Published, SpeciesTable, testing::ValuesIn(kSpecies),
                         [](const testing::TestParamInfo<Species>& row) {
                           std::string name = row.param.id;
                           std::replace(name.begin(), name.end(), '-', '_');
                           return name;
                         });

std::vector<std::filesystem::path> shipped() {
  std::vector<std::filesystem::path> files;
  for (const auto& entry : std::filesystem::directory_iterator(profiles()))
    if (entry.path().extension() == ".yaml") files.push_back(entry.path());
  std::sort(files.begin(), files.end());
  return files;
}

// A profile that is shipped without a row above would be checked against nothing.
TEST(ShippedProfiles, HaveEachARowOfTheTables) {
  std::set<std::string> files, rows;
  for (const auto& file : shipped()) files.insert(file.stem().string());
  for (const Species& species : kSpecies) rows.insert(species.id);
  EXPECT_EQ(files, rows);
}

// Facts of the trade for hens, common practice without a published source for the exact figures:
// 37.5 C and 21 days, a turn every 45 min (hourly in the shipped profile; the shipped example's own
// hen turns so), no more turns from two to three days before the hatch. A quarter turn, 45 degrees
// to either side, is one turn: tests/unit/engine/turner_test.cpp.
TEST(ShippedProfiles, HoldWhatTheTradeSaysOfHens) {
  const YAML::Node hen = YAML::LoadFile(file_of("hen").string());
  EXPECT_EQ(hen["days"].as<double>(), 21);
  EXPECT_EQ(hen["stages"][0]["target"].as<double>(), 37.5);
  const double still = hen["days"].as<double>() - first_still_day(hen);
  EXPECT_GE(still, 2);
  EXPECT_LE(still, 3);
  const YAML::Node example = YAML::LoadFile(std::string(PROJECT_ROOT) + "/config/clutchward.yaml");
  EXPECT_EQ(example["profiles"]["bench-hen"]["stages"][0]["turn_every"].as<std::string>(), "45min");
}

// Common practice, no published source for the exact figures: eggs lie still and are not aired once
// they are in lockdown, stages follow one another, and no target is out of what eggs stand.
TEST(ShippedProfiles, AreSchedulesThatHoldTogether) {
  const std::vector<std::filesystem::path> files = shipped();
  EXPECT_GE(files.size(), 14U);
  for (const auto& file : files) {
    SCOPED_TRACE(file.filename().string());
    const YAML::Node profile = YAML::LoadFile(file.string());
    EXPECT_FALSE(profile["name"].as<std::string>().empty());
    ASSERT_GE(profile["stages"].size(), 2U);
    double before = -1;
    std::set<std::string> names;
    for (const auto& stage : profile["stages"]) {
      EXPECT_TRUE(names.insert(stage["name"].as<std::string>()).second);
      EXPECT_GT(stage["from_day"].as<double>(), before);
      before = stage["from_day"].as<double>();
      EXPECT_GE(stage["target"].as<double>(), 36.0);
      EXPECT_LE(stage["target"].as<double>(), 38.1);
    }
    EXPECT_EQ(profile["stages"][0]["from_day"].as<double>(), 0);
    const YAML::Node last = profile["stages"][profile["stages"].size() - 1];
    EXPECT_EQ(last["name"].as<std::string>(), "lockdown");
    EXPECT_EQ(last["turn_every"].as<std::string>(), "off");
    EXPECT_FALSE(last["cooling"]);
    EXPECT_LT(last["from_day"].as<double>(), profile["days"].as<double>());
  }
}

// The keys of the dates hold together; the figures against their sources. Mass loss: Meir and Ar
// 1987 (turkey, 12 +/- 1 % in 28 days), 1991 (goose, 12 %), Romao 2009 (Japanese quail, 11.96 % by
// day 15 hatched best), Hand-Rearing Birds table 4.1 (ostrich 15, emu 10-15, rhea 15), Indian
// e-course (hen, about 12 %): all seen.
TEST(ShippedProfiles, HaveDatesAndLossesThatTheirSourcesName) {
  const std::map<std::string, double> lost = {
      {"turkey", 12}, {"goose", 12}, {"japanese-quail", 11.96}, {"ostrich", 15}, {"emu", 12.5},
      {"rhea", 15},   {"hen", 12}};
  for (const auto& file : shipped()) {
    SCOPED_TRACE(file.filename().string());
    const YAML::Node profile = YAML::LoadFile(file.string());
    const double days = profile["days"].as<double>();
    const double transfer = profile["transfer_day"].as<double>();
    EXPECT_LT(profile["pip"]["from"].as<double>(), profile["pip"]["to"].as<double>());
    EXPECT_LE(profile["pip"]["to"].as<double>(), profile["latest"].as<double>());
    EXPECT_GE(profile["pip"]["from"].as<double>(), transfer);
    // No candling in the last three days (common practice).
    if (profile["candling"].IsSequence())
      for (const auto& day : profile["candling"]) EXPECT_LE(day.as<double>(), days - 3);
    else
      EXPECT_EQ(file.stem(), "emu");  // too dark to look through
    if (const YAML::Node loss = profile["mass_loss"]) {
      EXPECT_LE(loss["by_day"].as<double>(), days);
      if (const auto seen = lost.find(file.stem().string()); seen != lost.end()) {
        EXPECT_LE(loss["from"].as<double>(), seen->second);
        EXPECT_GE(loss["to"].as<double>(), seen->second);
      }
    } else {
      EXPECT_EQ(file.stem(), "pigeon");  // no source seen
    }
    for (const auto& stage : profile["stages"]) {
      ASSERT_TRUE(stage["humidity"]);
      EXPECT_LT(stage["humidity"]["from"].as<double>(), stage["humidity"]["to"].as<double>());
      // Still air: warmer at the egg tops than forced air, never over 40 C (a game-bird manual,
      // seen), 38.4 to 39 C in every source seen but for the hatcher's degree less.
      if (!stage["target_still"]) continue;
      EXPECT_GT(stage["target_still"].as<double>(), stage["target"].as<double>());
      EXPECT_LE(stage["target_still"].as<double>(), 39.0);
      ASSERT_TRUE(profile["still"]);
      EXPECT_LE(profile["still"]["rules"]["high"]["limit"].as<double>(), 40.0);
    }
    if (!profile["stages"][0]["target_still"])
      EXPECT_TRUE(file.stem() == "emu" || file.stem() == "rhea");  // no source seen
  }
}

bool is_comment(const std::string& line) {
  const std::size_t first = line.find_first_not_of(' ');
  return first != std::string::npos && line[first] == '#';
}

// A '#' after a blank opens a comment; no value of a profile holds one.
std::string value_part(const std::string& line) { return line.substr(0, line.find(" #")); }

bool names_a_standing(const std::string& comment) {
  for (const char* word : {"seen", "from memory", "common practice", "derived"})
    if (comment.find(word) != std::string::npos) return true;
  return false;
}

// Every line with a figure has a comment beside it, or right above it, that says how sure it is.
TEST(ShippedProfiles, HaveNoFigureWithoutASource) {
  for (const auto& file : shipped()) {
    std::ifstream lines(file);
    std::string line, above;
    int number = 0, figures = 0;
    while (std::getline(lines, line)) {
      ++number;
      if (is_comment(line)) {
        above += line + "\n";
        continue;
      }
      const std::string value = value_part(line);
      const bool figure = value.find_first_of("0123456789") != std::string::npos ||
                          value.find(": off") != std::string::npos;
      if (figure) {
        ++figures;
        EXPECT_TRUE(names_a_standing(above + line.substr(value.size())))
            << file.filename().string() << ":" << number
            << ": a figure without a source (seen, from memory, common practice or derived): "
            << line;
      }
      above.clear();
    }
    EXPECT_GE(figures, 15) << file;
  }
}

}  // namespace
}  // namespace clutchward
