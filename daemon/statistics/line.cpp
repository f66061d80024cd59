// Two passes: means first, then everything around them.
#include "statistics/line.h"

#include <algorithm>
#include <cmath>

namespace clutchward {

std::optional<double> Line::reaches(double level, double from) const {
  const double left = level - at(from);
  if (left == 0) return from;
  if (slope == 0 || (left > 0) != (slope > 0)) return std::nullopt;
  return from + left / slope;
}

double Line::honest_error() const {
  const double r = std::clamp(residual_lag1, 0.0, 0.99);
  return slope_error * std::sqrt((1 + r) / (1 - r));
}

std::optional<Line> fit(std::span<const Point> points) {
  if (points.size() < 2) return std::nullopt;
  Line line;
  line.points = points.size();
  const double count = static_cast<double>(points.size());
  for (const Point& point : points) {
    line.mean_x += point.x / count;
    line.mean_y += point.y / count;
  }
  double sxx = 0;
  double sxy = 0;
  for (const Point& point : points) {
    sxx += (point.x - line.mean_x) * (point.x - line.mean_x);
    sxy += (point.x - line.mean_x) * (point.y - line.mean_y);
  }
  if (!(sxx > 0)) return std::nullopt;
  line.slope = sxy / sxx;
  double squares = 0;
  double neighbours = 0;
  double before = 0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const double residual = points[i].y - line.at(points[i].x);
    squares += residual * residual;
    if (i > 0) neighbours += residual * before;
    before = residual;
  }
  if (points.size() > 2) {
    line.residual_sd = std::sqrt(squares / (count - 2));
    line.slope_error = line.residual_sd / std::sqrt(sxx);
  }
  if (squares > 0) line.residual_lag1 = neighbours / squares;
  return line;
}

}  // namespace clutchward
