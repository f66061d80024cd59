// Two real traces of body temperature, R's beaver1 and beaver2 (P. S. Reynolds 1994, in Lange et
// al., Case Studies in Biometry, Wiley), through the charts, the line and the scores. R's data are
// under the GPL and no part of this tree: CLUTCHWARD_BEAVERS names a folder with beaver1.csv and
// beaver2.csv as R's write.csv writes them (ctest has Debian's R write them); without it these are
// skipped.
#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <fstream>
#include <string>
#include <vector>

#include "statistics/chart.h"
#include "statistics/line.h"
#include "statistics/robust.h"

namespace clutchward {
namespace {

struct Trace {
  std::vector<Point> points;  // hours, C
  std::vector<double> celsius;
};

Trace read_trace(const std::string& name) {
  const char* folder = std::getenv("CLUTCHWARD_BEAVERS");
  Trace trace;
  if (folder == nullptr) return trace;
  std::ifstream in(std::string(folder) + "/" + name + ".csv");
  std::string line;
  std::getline(in, line);
  while (std::getline(in, line)) {
    int day = 0;
    int time = 0;
    double celsius = 0;
    if (std::sscanf(line.c_str(), "%d,%d,%lf", &day, &time, &celsius) != 3) continue;
    trace.points.push_back({day * 24.0 + time / 100 + (time % 100) / 60.0, celsius});
    trace.celsius.push_back(celsius);
  }
  return trace;
}

#define NEEDS(trace) \
  if ((trace).points.empty()) GTEST_SKIP() << "CLUTCHWARD_BEAVERS names no folder with the traces"

// The first thirty readings' slopes, degrees an hour, worked out for the reference sheet.
TEST(Beavers, HaveTheSlopesOfTheirFirstHours) {
  const Trace one = read_trace("beaver1");
  const Trace two = read_trace("beaver2");
  NEEDS(one);
  EXPECT_NEAR(fit(std::span(one.points).first(30))->slope, 0.100364849833, 1e-9);
  EXPECT_NEAR(fit(std::span(two.points).first(30))->slope, 0.0394972191324, 1e-9);
}

// Modified scores past 3.5 at readings 1, 2, 3 and 80 of beaver1; the largest is 4.4517.
TEST(Beavers, HaveTheirOutliers) {
  const Trace one = read_trace("beaver1");
  NEEDS(one);
  const auto scores = modified_scores(one.celsius, 1e-9);
  std::vector<std::size_t> found;
  double largest = 0;
  for (std::size_t i = 0; i < scores.size(); ++i) {
    if (std::abs(scores[i]) > kOutlierScore) found.push_back(i + 1);
    largest = std::max(largest, std::abs(scores[i]));
  }
  EXPECT_EQ(found, (std::vector<std::size_t>{1, 2, 3, 80}));
  EXPECT_NEAR(largest, 4.4517, 1e-4);
}

// beaver2 becomes active at reading 39: charts begun there on the first 38 readings' mean and
// deviation signal at
// 40. Begun at the first reading they have signalled at 37 already: the readings hang together.
TEST(Beavers, AreSeenToBecomeActive) {
  const Trace two = read_trace("beaver2");
  NEEDS(two);
  constexpr double kMean = 37.09684211;
  constexpr double kDeviation = 0.2076913675;
  const double half = ewma_half_width(0.2, 2.962, 1, 1'000'000);
  const auto first_signals = [&](std::size_t from) {
    Ewma ewma;
    Cusum cusum;
    std::size_t of_ewma = 0;
    std::size_t of_cusum = 0;
    for (std::size_t i = from - 1; i < two.celsius.size(); ++i) {
      const double x = (two.celsius[i] - kMean) / kDeviation;
      ewma.take(x, 0.2);
      cusum.take(x, 0, 0.5);
      if (of_ewma == 0 && std::abs(ewma.value) > half) of_ewma = i + 1;
      if (of_cusum == 0 && cusum.signals(5)) of_cusum = i + 1;
    }
    return std::pair(of_ewma, of_cusum);
  };
  EXPECT_EQ(first_signals(39), std::pair(std::size_t{40}, std::size_t{40}));
  EXPECT_LE(std::min(first_signals(1).first, first_signals(1).second), 37U);
  // How much they hang together before it: lag-1 autocorrelation 0.74 (reference sheet).
  EXPECT_NEAR(lag1_autocorrelation(std::span(two.celsius).first(38)), 0.74, 0.01);
}

}  // namespace
}  // namespace clutchward
