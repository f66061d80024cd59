// The charts' arithmetic.
#include "statistics/chart.h"

#include <algorithm>
#include <cmath>

namespace clutchward {

double ewma_half_width(double lambda, double width, double sigma, std::uint32_t steps) {
  const double forgotten = std::pow(1 - lambda, 2.0 * steps);
  return width * sigma * std::sqrt(lambda / (2 - lambda) * (1 - forgotten));
}

double ewma_widening(double lambda, double lag1) {
  const double kept = std::clamp(lag1, 0.0, 0.99) * (1 - lambda);
  return std::sqrt((1 + kept) / (1 - kept));
}

void Cusum::take(double x, double target, double k) {
  high = std::max(0.0, high + x - target - k);
  low = std::max(0.0, low + target - k - x);
}

}  // namespace clutchward
