// Control charts against published worked examples and run-length tables, as the reference sheet
// quotes them. NIST pages and Montgomery's tables were seen as quoted copies that agree with each
// other, not on their own pages; run lengths of the columns marked so were computed with the R
// package spc.
#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <random>

#include "statistics/chart.h"

namespace clutchward {
namespace {

// NIST/SEMATECH e-Handbook of Statistical Methods 6.3.2.3 (doi 10.18434/M32189): 20 group means,
// target 325; k 0.3175 and h 4.1959 are from memory. First signal at 14, on the high side only.
TEST(Cusum, FollowsTheHandbooksExample) {
  constexpr std::array<double, 20> kMeans = {
      324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600,
      324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350};
  constexpr std::array<double, 20> kHigh = {
      0, 0, 0,      0,      0.0325, 0,       0,       0,       0,       0,
      0, 0, 3.0075, 4.9400, 7.4475, 10.6300, 11.9875, 14.4450, 16.0025, 19.0350};
  constexpr std::array<double, 20> kLow = {0,      0.0075, 0,      0.3325, 0, 0, 0.5575,
                                           0.7150, 0.1725, 0.2550, 0.3125, 0, 0, 0,
                                           0,      0,      0,      0,      0, 0};
  Cusum cusum;
  Cusum mirrored;
  for (std::size_t i = 0; i < kMeans.size(); ++i) {
    cusum.take(kMeans[i], 325, 0.3175);
    mirrored.take(650 - kMeans[i], 325, 0.3175);
    EXPECT_NEAR(cusum.high, kHigh[i], 1e-9) << i + 1;
    EXPECT_NEAR(cusum.low, kLow[i], 1e-9) << i + 1;
    EXPECT_NEAR(mirrored.high, cusum.low, 1e-9);
    EXPECT_NEAR(mirrored.low, cusum.high, 1e-9);
    EXPECT_EQ(cusum.signals(4.1959), i + 1 >= 14) << i + 1;
  }
}

// Montgomery, Introduction to Statistical Quality Control, Table 9.1 (Wiley): 30 readings, K 0.5,
// H 5. The first 29 sums are as the book is quoted; first signal at 29.
constexpr std::array<double, 30> kMontgomery = {
    9.45,  7.99,  9.29,  11.66, 12.16, 10.18, 8.04,  11.46, 9.20,  10.34,
    9.03,  11.47, 10.51, 9.40,  10.08, 9.37,  10.62, 10.31, 8.52,  10.84,
    10.90, 9.33,  12.29, 11.50, 10.60, 11.08, 10.38, 11.62, 11.31, 10.52};

TEST(Cusum, FollowsMontgomerysTable) {
  constexpr std::array<double, 30> kHigh = {
      0, 0,    0, 1.16, 2.82, 2.50, 0.04, 1.00, 0,    0,    0,    0.97, 0.98, 0,    0,
      0, 0.12, 0, 0,    0.34, 0.74, 0,    1.79, 2.79, 2.89, 3.47, 3.35, 4.47, 5.28, 5.30};
  Cusum cusum;
  for (std::size_t i = 0; i < kMontgomery.size(); ++i) {
    cusum.take(kMontgomery[i], 10, 0.5);
    EXPECT_NEAR(cusum.high, kHigh[i], 0.005) << i + 1;
    EXPECT_EQ(cusum.signals(5), i + 1 >= 29) << i + 1;
  }
}

// Montgomery & Runger, Applied Statistics and Probability for Engineers (Wiley, 3rd ed.), Example
// 16-6, Tables 16-7 and 16-8, seen on a page of the book: mu0 99, K 1, H 10. No signal, and many
// returns to nothing.
TEST(Cusum, FollowsMontgomeryAndRungersTable) {
  constexpr std::array<double, 20> kValues = {102.0, 94.8,  98.3,  98.4,  102.0, 98.5,  99.0,
                                              97.7,  100.0, 98.1,  101.3, 98.7,  101.1, 98.4,
                                              97.0,  96.7,  100.3, 101.4, 97.2,  101.0};
  constexpr std::array<double, 20> kHigh = {2.0, 0, 0,   0, 2.0, 0.5, 0,   0,   0, 0,
                                            1.3, 0, 1.1, 0, 0,   0,   0.3, 1.7, 0, 1.0};
  constexpr std::array<double, 20> kLow = {0, 3.2, 2.9, 2.5, 0,   0,   0, 0.3, 0,   0,
                                           0, 0,   0,   0,   1.0, 2.3, 0, 0,   0.8, 0};
  Cusum cusum;
  for (std::size_t i = 0; i < kValues.size(); ++i) {
    cusum.take(kValues[i], 99, 1);
    EXPECT_NEAR(cusum.high, kHigh[i], 1e-9) << i + 1;
    EXPECT_NEAR(cusum.low, kLow[i], 1e-9) << i + 1;
    EXPECT_FALSE(cusum.signals(10)) << i + 1;
  }
}

// e-Handbook 6.3.2.4: lambda 0.3, start 50, s 2.0539, width 3; all printed values, and the limits
// 52.5884 and 47.4115 (the page rounds the factor; 52.588432 by the exact one). No signal.
TEST(Ewma, FollowsTheHandbooksExample) {
  constexpr std::array<double, 20> kValues = {52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0,
                                              50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3,
                                              47.8, 51.2, 52.6, 52.4, 53.6, 52.1};
  constexpr std::array<double, 20> kPrinted = {50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75,
                                               49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05,
                                               49.38, 49.92, 50.73, 51.23, 51.94, 51.99};
  Ewma ewma{50};
  for (std::size_t i = 0; i < kValues.size(); ++i) {
    ewma.take(kValues[i], 0.3);
    EXPECT_NEAR(ewma.value, kPrinted[i], 0.005) << i + 1;
    EXPECT_LT(std::abs(ewma.value - 50), ewma_half_width(0.3, 3, 2.0539, ewma.steps));
  }
  EXPECT_NEAR(50 + ewma_half_width(0.3, 3, 2.0539, 1000), 52.588432, 1e-6);
  EXPECT_NEAR(50 - ewma_half_width(0.3, 3, 2.0539, 1000), 47.4115, 2e-4);
}

// Montgomery's 30 readings, lambda 0.1, width 2.7, sigma 1, time-varying limits: computed for the
// sheet; outside at 29 and not before.
TEST(Ewma, LeavesItsTimeVaryingLimitsAtReading29) {
  Ewma ewma{10};
  for (std::size_t i = 0; i < kMontgomery.size(); ++i) {
    ewma.take(kMontgomery[i], 0.1);
    const double half = ewma_half_width(0.1, 2.7, 1, ewma.steps);
    if (i == 0) {
      EXPECT_NEAR(10 + half, 10.2700, 1e-4);
    }
    if (i == 1) {
      EXPECT_NEAR(10 + half, 10.3632, 1e-4);
    }
    if (i == 27) {
      EXPECT_NEAR(ewma.value, 10.5731, 1e-4);
    }
    if (i == 28) {
      EXPECT_NEAR(ewma.value, 10.6468, 1e-4);
    }
    EXPECT_EQ(std::abs(ewma.value - 10) > half, i + 1 >= 29) << i + 1;
  }
}

TEST(Ewma, HasTheTwoEndsOfLambda) {
  Ewma last{5};
  Ewma still{5};
  for (const double x : {7.0, 3.5, 9.25}) {
    last.take(x, 1);
    still.take(x, 0);
    EXPECT_EQ(last.value, x);
    EXPECT_EQ(still.value, 5);
  }
}

double mean_of(int runs, unsigned seed, int (*length)(std::mt19937_64&)) {
  std::mt19937_64 random(seed);
  double sum = 0;
  for (int i = 0; i < runs; ++i) sum += length(random);
  return sum / runs;
}

// Run length of a two-sided EWMA with fixed limits after a step shift or under a drift per reading.
int run_length(std::mt19937_64& random, double lambda, double width, double shift, double drift) {
  std::normal_distribution<double> noise;
  Ewma ewma;
  const double half = ewma_half_width(lambda, width, 1, 1'000'000);
  for (int i = 1;; ++i) {
    ewma.take(noise(random) + shift + drift * (i - 1), lambda);
    if (std::abs(ewma.value) > half) return i;
  }
}

constexpr int kRuns = 20'000;

// Lucas and Saccucci, Technometrics 32 (1990), Table 3, as printed in the help of R's spc: lambda
// 0.50, width 3.071, shift 1: 17.5; lambda 0.03, width 2.437, shift 1: 12.6. Tolerance: four
// standard errors.
TEST(Ewma, HasTheRunLengthsOfLucasAndSaccucci) {
  EXPECT_NEAR(mean_of(kRuns, 1, [](auto& random) { return run_length(random, 0.5, 3.071, 1, 0); }),
              17.5, 0.5);
  EXPECT_NEAR(mean_of(kRuns, 2, [](auto& random) { return run_length(random, 0.03, 2.437, 1, 0); }),
              12.6, 0.16);
  // The same table's columns 0.20 / 2.962 and 0.10 / 2.814, run with spc: 10.542 and 10.331.
  EXPECT_NEAR(mean_of(kRuns, 3, [](auto& random) { return run_length(random, 0.2, 2.962, 1, 0); }),
              10.542, 0.18);
  EXPECT_NEAR(mean_of(kRuns, 4, [](auto& random) { return run_length(random, 0.1, 2.814, 1, 0); }),
              10.331, 0.14);
}

// SAS documents EWMAARL(1.00, 0.25, 3.0) = 11.154267016 (its page on the quality-control functions,
// seen): shift 1, lambda 0.25, width 3, fixed limits.
TEST(Ewma, HasTheRunLengthThatSasDocuments) {
  EXPECT_NEAR(mean_of(kRuns, 8, [](auto& random) { return run_length(random, 0.25, 3, 1, 0); }),
              11.154267, 0.2);
}

// A slow drift is what the chart is for: Gan, J. Stat. Comput. Simul. 38 (1991), Table 1, as
// printed in the help of R's spc: lambda 0.242, h 1.111 (width 2.9944), 0.01 sigma a reading: 61.3.
TEST(Ewma, HasGansRunLengthUnderADrift) {
  EXPECT_NEAR(
      mean_of(kRuns, 5, [](auto& random) { return run_length(random, 0.242, 2.9944, 0, 0.01); }),
      61.3, 0.6);
}

// Lucas and Crosier, Technometrics 24 (1982), Table 1, as printed in the help of R's spc:
// two-sided, k 0.5, h 4, shift 1: 8.38; with a head start of h/2: 5.29.
TEST(Cusum, HasTheRunLengthsOfLucasAndCrosier) {
  const auto length = [](std::mt19937_64& random, double head) {
    std::normal_distribution<double> noise(1);
    Cusum cusum{head, head};
    for (int i = 1;; ++i) {
      cusum.take(noise(random), 0, 0.5);
      if (cusum.signals(4)) return i;
    }
  };
  std::mt19937_64 random(6);
  double plain = 0;
  double ahead = 0;
  for (int i = 0; i < kRuns; ++i) {
    plain += length(random, 0);
    ahead += length(random, 2);
  }
  EXPECT_NEAR(plain / kRuns, 8.38, 0.14);
  EXPECT_NEAR(ahead / kRuns, 5.29, 0.14);
}

// Run-length tables hold for independent values only. On AR(1) noise an unwidened chart rings many
// times as often; the widening brings it back to at least the length that was promised (559.9 for
// lambda 0.2 and width 3 with fixed limits, run with spc; the sheet's own simulations show the same
// fall for CUSUM).
TEST(Ewma, IsWidenedForValuesThatHangTogether) {
  const auto length = [](std::mt19937_64& random, double phi, double widening) {
    std::normal_distribution<double> noise(0, std::sqrt(1 - phi * phi));
    std::normal_distribution<double> first;
    Ewma ewma;
    double x = first(random);
    const double half = widening * ewma_half_width(0.2, 3, 1, 1'000'000);
    for (int i = 1;; ++i) {
      ewma.take(x, 0.2);
      if (std::abs(ewma.value) > half || i >= 100'000) return i;
      x = phi * x + noise(random);
    }
  };
  std::mt19937_64 random(7);
  for (const double phi : {0.5, 0.8, 0.9}) {
    double plain = 0;
    double widened = 0;
    for (int i = 0; i < 400; ++i) {
      plain += length(random, phi, 1);
      widened += length(random, phi, ewma_widening(0.2, phi));
    }
    EXPECT_LT(plain / 400, 150) << phi;
    EXPECT_GT(widened / 400, 500) << phi;
  }
  EXPECT_EQ(ewma_widening(0.2, 0), 1);
  EXPECT_EQ(ewma_widening(0.2, -0.4), 1);
}

}  // namespace
}  // namespace clutchward
