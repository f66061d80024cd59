// Gathering readings, minute by minute and line by line.
#include "engine/past.h"

#include <algorithm>
#include <charconv>
#include <cmath>

#include "incubation/egg_heat.h"
#include "statistics/robust.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

constexpr int kBins = 60;
// Past this without a reading a chart begins anew: what was averaged says nothing of now.
constexpr Span kChartGap = 30min;
// Of the values that a spread is learned from: further out they are one-off events, not its habit.
constexpr double kClip = 3;

double minutes_between(Steady from, Steady to) {
  return std::chrono::duration<double, std::ratio<60>>(to - from).count();
}

}  // namespace

void Window::take(Steady at, double value, Span length) {
  if (bins_.empty() || at - last_ > length / 2) {
    bins_.clear();
    since_ = at;
  }
  last_ = at;
  const Span width = std::max<Span>(length / kBins, 1ms);
  if (bins_.empty() || at - bins_.back().begins >= width)
    bins_.push_back({Steady{at.time_since_epoch() / width * width}, 0, 0, 0});
  Bin& bin = bins_.back();
  bin.minutes += minutes_between(bin.begins, at);
  bin.value += value;
  ++bin.count;
  // One more than fit, so that a reading exactly as old as the window still counts.
  while (at - bins_.front().begins > length + width) bins_.erase(bins_.begin());
}

std::optional<Line> Window::line(Steady now, Span length) const {
  std::vector<Point> points;
  points.reserve(bins_.size());
  const double oldest = -minutes_between(now - length, now) - 1e-9;
  for (const Bin& bin : bins_) {
    const double x = minutes_between(now, bin.begins) + bin.minutes / bin.count;
    if (x >= oldest) points.push_back({x, bin.value / bin.count});
  }
  return fit(points);
}

std::string Window::text(Steady now) const {
  std::string out;
  for (const Bin& bin : bins_) {
    const auto age =
        std::llround((minutes_between(bin.begins, now) - bin.minutes / bin.count) * 60'000);
    out += std::to_string(age) + " " + std::to_string(std::llround(bin.value / bin.count)) + " ";
  }
  return out;
}

void Window::read(std::string_view text, Steady now, Span length, Span since) {
  bins_.clear();
  std::int64_t numbers[2] = {};
  int have = 0;
  for (const char* at = text.data(); at < text.data() + text.size();) {
    const auto end = std::from_chars(at, text.data() + text.size(), numbers[have]);
    if (end.ec != std::errc()) return;
    at = end.ptr + 1;
    if (++have < 2) continue;
    have = 0;
    const Steady when = now - Span{numbers[0]};
    if (bins_.empty() || when >= last_) take(when, static_cast<double>(numbers[1]), length);
  }
  since_ = std::min(since_, now - since);
}

double Trending::half_width(const EarlyRule& rule) const {
  const double lambda = rule.lambda / 1000.0;
  const double limits = ewma_widening(lambda, lag1) *
                        ewma_half_width(lambda, rule.sigmas / 1000.0, sigma, ewma.steps);
  return std::max<double>(rule.at_least, limits);
}

void Trending::learn() {
  std::vector<double> values(learning.begin(), learning.end());
  centre = median(values);
  sigma = kMadToSigma * median_deviation(values);
  for (double& value : values)
    value = std::clamp(value, centre - kClip * sigma, centre + kClip * sigma);
  lag1 = lag1_autocorrelation(values);
  learned = true;
  learning = {};
  ewma = {};
}

// One more minute's mean.
void Trending::take_minute(double mean, Steady at, const EarlyRule& rule) {
  if (at < rests) return;
  if (!learned) {
    learning.push_back(static_cast<std::int32_t>(std::llround(mean)));
    if (static_cast<Span::rep>(learning.size()) * Span(1min).count() >= rule.learn.count()) learn();
    return;
  }
  if (at - last > kChartGap) ewma = {};
  last = at;
  ewma.take(mean - centre, rule.lambda / 1000.0);
  outside = std::abs(ewma.value) > half_width(rule);
}

bool Trending::take(Steady at, double value, bool counts, const EarlyRule& rule) {
  const std::int64_t now = at.time_since_epoch() / 1min;
  bool closed = false;
  if (now != minute && count > 0) {
    if (counts) take_minute(sum / count, at, rule);
    closed = counts;
    sum = 0;
    count = 0;
  }
  minute = now;
  if (!counts) {
    sum = 0;
    count = 0;
    return closed;
  }
  sum += value;
  ++count;
  return closed;
}

void Trending::aim(Milli at, Steady now, Span rest) {
  if (at == target) return;
  if (target != 0 && learned) {
    centre += at - target;
    rests = now + rest;
    ewma = {};
  } else {
    learning.clear();
  }
  target = at;
}

void EggEstimate::take(Steady now, double value, double time_constant_min) {
  if (!known || now - at > kLongestGap) {
    celsius = value;
    unknown_since = now;
    known = true;
  } else {
    celsius =
        egg_after_changing_air(celsius, air, value, minutes_between(at, now), time_constant_min);
  }
  air = value;
  at = now;
}

bool EggEstimate::settled(Steady now, double time_constant_min) const {
  constexpr double kForgotten = 3;  // time constants: 95 % of what was not known
  return known && minutes_between(unknown_since, now) >= kForgotten * time_constant_min;
}

}  // namespace clutchward
