// The straight line of least squares through a handful of points, how sure its slope is, and when
// it reaches a level. Refuses nothing but what has no slope: then there is none.
#pragma once

#include <cstddef>
#include <optional>
#include <span>

namespace clutchward {

struct Point {
  double x = 0;
  double y = 0;
};

struct Line {
  double mean_x = 0;
  double mean_y = 0;
  double slope = 0;
  double slope_error = 0;    // standard error; 0 with two points
  double residual_sd = 0;    // of the points around the line, n - 2 degrees of freedom
  double residual_lag1 = 0;  // how neighbours' residuals hang together
  std::size_t points = 0;

  double at(double x) const { return mean_y + slope * (x - mean_x); }
  double intercept() const { return at(0); }
  // Where the line reaches `level` (x); none where it never does, or did so before `from`.
  std::optional<double> reaches(double level, double from) const;
  // The standard error of the slope as it is where residuals hang together: times
  // sqrt((1 + r) / (1 - r)), r the lag-1 autocorrelation of the residuals, never less than it is.
  double honest_error() const;
};

// None for fewer than two points, or all at one x. Two passes, centred: long times and near values
// do not cancel (NIST's NumAcc sets show what one pass does).
std::optional<Line> fit(std::span<const Point> points);

}  // namespace clutchward
