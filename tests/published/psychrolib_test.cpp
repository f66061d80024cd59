// Moist air against the npm package psychrolib, run now by node: the whole grid of cabinet
// conditions at three altitudes. Skipped, with a message, where the package is not installed.
#include <gtest/gtest.h>
#include <sys/wait.h>

#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <sstream>
#include <string>

#include "incubation/humidity.h"

namespace clutchward {
namespace {

struct Finished {
  int status = -1;
  std::string output;
};

Finished run(const std::string& command) {
  Finished result;
  FILE* pipe = popen(command.c_str(), "r");
  if (pipe == nullptr) return result;
  char bytes[4096];
  while (const std::size_t count = std::fread(bytes, 1, sizeof bytes, pipe))
    result.output.append(bytes, count);
  const int raw = pclose(pipe);
  if (WIFEXITED(raw)) result.status = WEXITSTATUS(raw);
  return result;
}

TEST(PsychrolibPackage, AgreesOverTheWholeGrid) {
  const std::filesystem::path folder = std::filesystem::path(TEST_DATA) / "published";
  if (!std::filesystem::exists(folder / "node_modules" / "psychrolib"))
    GTEST_SKIP() << "psychrolib is not installed: run 'npm ci' in tests/published";
  const Finished grid = run("node '" + (folder / "psychrolib_grid.mjs").string() + "'");
  ASSERT_EQ(grid.status, 0) << "node (20 or newer) is needed to run psychrolib_grid.mjs";

  std::istringstream lines(grid.output);
  double dry, wet, altitude, pascal, percent, dew, vapour, saturation;
  int rows = 0;
  while (lines >> dry >> wet >> altitude >> pascal >> percent >> dew >> vapour >> saturation) {
    ++rows;
    const auto air = from_wet_bulb(dry, wet, altitude);
    ASSERT_TRUE(air) << air.why();
    const std::string where = std::to_string(dry) + "/" + std::to_string(wet);
    EXPECT_NEAR(air->relative_humidity_percent, percent, 0.001) << where;
    EXPECT_NEAR(*air->dew_point_c, dew, 0.002) << where;  // the package stops at 0.001 K
    EXPECT_NEAR(air->pressure_hpa * 100, pascal, 0.01);
    EXPECT_NEAR(air->vapour_pressure_hpa * 100, vapour, 0.01) << where;
    EXPECT_NEAR(air->saturation_pressure_hpa * 100, saturation, 0.01) << where;
    // Where wet is dry the package may land a rounding above 100.
    const auto back = from_relative_humidity(dry, std::min(percent, 100.0), altitude);
    ASSERT_TRUE(back) << back.why();
    EXPECT_NEAR(back->wet_bulb_c, wet, 0.001) << where;
  }
  EXPECT_TRUE(lines.eof()) << "a line that is not eight numbers after " << rows;
  EXPECT_GT(rows, 4500);
}

}  // namespace
}  // namespace clutchward
