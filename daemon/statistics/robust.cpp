// Medians by partial sorting; nothing here keeps anything.
#include "statistics/robust.h"

#include <algorithm>
#include <cmath>

#include "base/check.h"

namespace clutchward {

double median(std::vector<double> values) {
  CHECK(!values.empty());
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  if (values.size() % 2 == 1) return *middle;
  return (*std::max_element(values.begin(), middle) + *middle) / 2;
}

double median_deviation(const std::vector<double>& values) {
  const double centre = median(values);
  std::vector<double> away;
  away.reserve(values.size());
  for (const double value : values) away.push_back(std::abs(value - centre));
  return median(std::move(away));
}

std::vector<double> modified_scores(const std::vector<double>& values, double least) {
  CHECK(least > 0);
  const double centre = median(values);
  const double scale = std::max(least, median_deviation(values));
  std::vector<double> scores;
  scores.reserve(values.size());
  for (const double value : values) scores.push_back(0.6745 * (value - centre) / scale);
  return scores;
}

double lag1_autocorrelation(std::span<const double> values) {
  if (values.size() < 2) return 0;
  double mean = 0;
  for (const double value : values) mean += value / static_cast<double>(values.size());
  double squares = 0;
  double products = 0;
  for (std::size_t i = 0; i < values.size(); ++i) {
    squares += (values[i] - mean) * (values[i] - mean);
    if (i > 0) products += (values[i] - mean) * (values[i - 1] - mean);
  }
  return squares > 0 ? products / squares : 0;
}

}  // namespace clutchward
