// Measures that one wrong value cannot bend, and how values hang together in time.
#pragma once

#include <span>
#include <vector>

namespace clutchward {

// R's mad(): the median absolute deviation times this is the standard deviation of normal values.
inline constexpr double kMadToSigma = 1.4826;
// Modified z-scores past this are outliers (Iglewicz and Hoaglin 1993).
inline constexpr double kOutlierScore = 3.5;

// Even count: the mean of the middle two. `values` must not be empty.
double median(std::vector<double> values);
// Median absolute deviation from the median, unscaled.
double median_deviation(const std::vector<double>& values);

// 0.6745 (x - median) / MAD of each value, the MAD taken as at least `least` (a probe's own
// accuracy): without a floor it is 0 whenever more than half of the values are equal. `least` above
// 0.
std::vector<double> modified_scores(const std::vector<double>& values, double least);

// Of evenly spaced values: sum of products of neighbours' deviations over the sum of squares; 0
// where nothing varies. By two passes.
double lag1_autocorrelation(std::span<const double> values);

}  // namespace clutchward
