// Control charts over evenly spaced values: the exponentially weighted moving average (EWMA) with
// its time-varying limits, and the tabular CUSUM that it is measured against. Numbers in, numbers
// out: no units, no time, no alarm.
#pragma once

#include <cstdint>

namespace clutchward {

// z = lambda x + (1 - lambda) z. With lambda 1 it is the last value.
struct Ewma {
  double value = 0;         // z; begins at the centre
  std::uint32_t steps = 0;  // values taken

  void take(double x, double lambda) {
    value = lambda * x + (1 - lambda) * value;
    if (steps < UINT32_MAX) ++steps;
  }
};

// Half the width of the limits after `steps` values of standard deviation `sigma`:
// width x sigma x sqrt(lambda / (2 - lambda) x (1 - (1 - lambda)^(2 steps))), the exact variance of
// the EWMA of independent values (NIST/SEMATECH e-Handbook 6.3.2.4). 0 <= lambda <= 1.
double ewma_half_width(double lambda, double width, double sigma, std::uint32_t steps);

// By how much the settled EWMA of values that hang together as AR(1) with lag-1 autocorrelation
// `lag1` spreads wider than that of independent ones of the same standard deviation: sqrt((1 + lag1
// (1 - lambda)) / (1 - lag1 (1 - lambda))), from the variance of a filtered AR(1) process. `lag1`
// below 0 counts as 0 (never narrower), above 0.99 as 0.99.
double ewma_widening(double lambda, double lag1);

// The tabular CUSUM of NIST/SEMATECH e-Handbook 6.3.2.3: allowance k, decision limit h, both in the
// unit of the values.
struct Cusum {
  double high = 0;
  double low = 0;

  void take(double x, double target, double k);
  bool signals(double h) const { return high > h || low > h; }
};

}  // namespace clutchward
