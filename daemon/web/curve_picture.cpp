// A curve as SVG, made of numbers and of words of ours: no text of anybody's stands in it, and no
// style, since the policy of the pages forbids one.
#include <algorithm>
#include <cmath>
#include <cstdio>

#include "web/curve_view.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

// Drawn for a phone 360 px wide; wider screens enlarge it.
constexpr double kWide = 360;
constexpr double kLeft = 30;
constexpr double kRight = 6;
constexpr double kTop = 14;
constexpr double kBottom = 20;

std::string number(double value) {
  char buffer[32];
  std::snprintf(buffer, sizeof buffer, "%.1f", value);
  return buffer;
}

class Frame {
 public:
  Frame(const CurveView& view, Quantity quantity, Show show)
      : view_(view),
        heat_(quantity == Quantity::temperature),
        fahrenheit_(heat_ && show == Show::fahrenheit),
        tall_(heat_ ? 190 : 110),
        steps_(heat_ ? view.curve->temperature : view.curve->humidity),
        bands_(heat_ ? view.temperature : view.humidity) {
    low_ = steps_.front().low;
    high_ = steps_.front().high;
    for (const CurveStep& step : steps_) reach(step.low), reach(step.high);
    for (const CurveBand& band : bands_) reach(band.low), reach(band.high);
    const double room = std::max((high_ - low_) * 0.06, heat_ ? 150.0 : 1000.0);
    low_ -= room;
    high_ += room;
  }

  std::string drawn(const Zone& zone) const {
    return "<svg class=\"curve\" viewBox=\"0 0 360 " + number(tall_) +
           "\" role=\"img\" aria-label=\"" + (heat_ ? "Temperature" : "Humidity") +
           " as a curve: the sentences above say what it shows, the table below has its "
           "numbers\">\n" +
           bands() + grid() + clock(zone) + line() + alarms() + "</svg>\n";
  }

 private:
  void reach(Milli value) {
    low_ = std::min(low_, static_cast<double>(value));
    high_ = std::max(high_, static_cast<double>(value));
  }
  double x(Wall at) const {
    const auto all = static_cast<double>((view_.wanted.to() - view_.wanted.from()).count());
    const auto part = static_cast<double>((at - view_.wanted.from()).count());
    return kLeft + (kWide - kLeft - kRight) * std::clamp(part / std::max(all, 1.0), 0.0, 1.0);
  }
  double y(double value) const {
    const double part = std::clamp((value - low_) / (high_ - low_), 0.0, 1.0);
    return kTop + (tall_ - kTop - kBottom) * (1 - part);
  }

  std::string bands() const {
    std::string out;
    for (const CurveBand& band : bands_) {
      const std::string from = number(x(band.from));
      const std::string wide = number(x(band.to) - x(band.from));
      out += "<rect class=\"band\" x=\"" + from + "\" y=\"" + number(y(band.high)) + "\" width=\"" +
             wide + "\" height=\"" + number(y(band.low) - y(band.high)) + "\"/>\n";
      if (band.target)
        out += "<path class=\"wanted\" d=\"M" + from + " " + number(y(*band.target)) + "h" + wide +
               "\"/>\n";
    }
    return out;
  }

  // Lines at round values of the unit that people read.
  std::string grid() const {
    const auto shown = [&](double milli) {
      const double value = milli / 1000;
      return fahrenheit_ ? value * 1.8 + 32 : value;
    };
    const auto milli = [&](double value) {
      return 1000 * (fahrenheit_ ? (value - 32) / 1.8 : value);
    };
    const double range = shown(high_) - shown(low_);
    const double step = range > 50 ? 20 : range > 20 ? 10 : range > 9 ? 5 : range > 4 ? 2 : 1;
    std::string out;
    for (double value = std::ceil(shown(low_) / step) * step; value <= shown(high_);
         value += step) {
      const std::string at = number(y(milli(value)));
      out += "<path class=\"grid\" d=\"M" + number(kLeft) + " " + at + "H" +
             number(kWide - kRight) + "\"/><text x=\"" + number(kLeft - 4) + "\" y=\"" +
             number(y(milli(value)) + 3.5) + "\" text-anchor=\"end\">" +
             std::to_string(std::lround(value)) + "</text>\n";
    }
    return out + "<text x=\"" + number(kLeft - 4) + "\" y=\"9\" text-anchor=\"end\">" +
           (!heat_        ? "%"
            : fahrenheit_ ? "°F"
                          : "°C") +
           "</text>\n";
  }

  std::string mark(Wall at, const std::string& text) const {
    if (at < view_.wanted.from() || at > view_.wanted.to()) return {};
    const std::string place = number(x(at));
    return "<path class=\"grid\" d=\"M" + place + " " + number(kTop) + "V" +
           number(tall_ - kBottom) + "\"/><text x=\"" + place + "\" y=\"" + number(tall_ - 6) +
           "\" text-anchor=\"middle\">" + text + "</text>\n";
  }

  // Every six hours by the site's clock, or days since setting.
  std::string clock(const Zone& zone) const {
    std::string out;
    if (view_.day_zero) {
      const auto days = (view_.wanted.to() - *view_.day_zero) / 24h;
      const int every = days > 20 ? 5 : days > 8 ? 2 : 1;
      for (int day = 0; day <= days; day += every)
        out += mark(*view_.day_zero + day * 24h, "day " + std::to_string(day));
      return out;
    }
    for (Wall hour = std::chrono::ceil<std::chrono::hours>(view_.wanted.from());
         hour <= view_.wanted.to(); hour += 1h) {
      const auto local = zone.to_local(hour);
      const auto of_day = local - std::chrono::floor<std::chrono::days>(local);
      const auto count = std::chrono::duration_cast<std::chrono::hours>(of_day).count();
      if (count % 6 == 0)
        out += mark(hour, (count < 10 ? "0" : "") + std::to_string(count) + ":00");
    }
    return out;
  }

  // Lowest to highest as a ribbon, the mean as a line; both broken where nothing was heard.
  std::string line() const {
    const Span gap = std::max<Span>(3 * view_.wanted.step, 10min);
    std::string out;
    for (std::size_t i = 0; i < steps_.size();) {
      std::size_t end = i + 1;
      while (end < steps_.size() && steps_[end].at - steps_[end - 1].at <= gap) ++end;
      const auto point = [&](std::size_t at, Milli value) {
        return number(x(steps_[at].at + view_.wanted.step / 2)) + " " + number(y(value)) + " ";
      };
      std::string ribbon;
      std::string mean;
      for (std::size_t at = i; at < end; ++at) ribbon += point(at, steps_[at].high);
      for (std::size_t at = end; at > i; --at) ribbon += point(at - 1, steps_[at - 1].low);
      for (std::size_t at = i; at < end; ++at) mean += point(at, steps_[at].mean);
      out += "<path class=\"range\" d=\"M" + ribbon + "z\"/><path class=\"mean\" d=\"M" + mean +
             (end - i == 1 ? "h.1" : "") + "\"/>\n";
      i = end;
    }
    return out;
  }

  // A wedge where it was raised, and a bar for as long as it lasted.
  std::string alarms() const {
    std::string out;
    for (const CurveAlarm& alarm : view_.alarms) {
      if (heat_ == (alarm.quantity == Quantity::humidity)) continue;
      const double from = x(alarm.from);
      const double to = x(alarm.to.value_or(view_.wanted.to()));
      out += std::string("<path class=\"") +
             (alarm.priority == Priority::high ? "alarm high" : "alarm") + "\" d=\"M" +
             number(from - 4) + " 1h8l-4 8zM" + number(from) + " 9h" +
             number(std::max(1.0, to - from)) + "v3h-" + number(std::max(1.0, to - from)) +
             "z\"/>\n";
    }
    return out;
  }

  const CurveView& view_;
  bool heat_;
  bool fahrenheit_;
  double tall_;
  const std::vector<CurveStep>& steps_;
  const std::vector<CurveBand>& bands_;
  double low_ = 0;
  double high_ = 0;
};

}  // namespace

std::string curve_picture(const CurveView& view, Quantity quantity, const WatchView& watch) {
  if (!view.curve) return {};
  const auto& steps =
      quantity == Quantity::temperature ? view.curve->temperature : view.curve->humidity;
  if (steps.empty()) return {};
  return Frame(view, quantity, watch.show).drawn(watch.zone);
}

}  // namespace clutchward
