// A curve over the days as SVG, made of numbers alone: no text of anybody's stands in it.
#include <algorithm>
#include <cmath>
#include <cstdio>

#include "report/report.h"

namespace clutchward {
namespace {

constexpr double kLeft = 44;
constexpr double kTop = 8;
constexpr double kWide = 680;
constexpr double kHigh = 200;

std::string number(double value) {
  char buffer[32];
  std::snprintf(buffer, sizeof buffer, "%.1f", value);
  return buffer;
}

double ms(const Json& object, const char* key) {
  const auto found = object.find(key);
  const auto at = found != object.end() && found->is_string()
                      ? parse_rfc3339(found->get<std::string>())
                      : std::nullopt;
  return at ? static_cast<double>(at->time_since_epoch().count()) : 0;
}

struct Frame {
  double from = 0;  // ms
  double to = 1;
  double low = 0;
  double high = 1;
  double x(double at) const {
    return kLeft + kWide * std::clamp((at - from) / (to - from), 0.0, 1.0);
  }
  double y(double value) const {
    return kTop + kHigh * (1 - std::clamp((value - low) / (high - low), 0.0, 1.0));
  }
};

std::string rectangle(const Frame& frame, const char* kind, const Json& stage, double low,
                      double high) {
  const double x = frame.x(ms(stage, "from"));
  return std::string("<rect class=\"") + kind + "\" x=\"" + number(x) + "\" y=\"" +
         number(frame.y(high)) + "\" width=\"" + number(frame.x(ms(stage, "to")) - x) +
         "\" height=\"" + number(frame.y(low) - frame.y(high)) + "\"/>\n";
}

// The band between the lowest and the highest of each hour, and the mean as a line; both broken
// where there are no readings for three hours.
std::string curve(const Frame& frame, const Json& hours) {
  std::string out;
  for (std::size_t i = 0; i < hours.size();) {
    std::size_t end = i + 1;
    while (end < hours.size() && ms(hours[end], "at") - ms(hours[end - 1], "at") <= 3 * 3'600'000.0)
      ++end;
    std::string upper;
    std::string lower;
    std::string mean;
    const auto add = [&](std::string& to, const Json& hour, const char* key) {
      to += number(frame.x(ms(hour, "at") + 1'800'000)) + "," +
            number(frame.y(hour[key].get<double>())) + " ";
    };
    for (std::size_t at = i; at < end; ++at) add(upper, hours[at], "max");
    for (std::size_t at = end; at > i; --at) add(lower, hours[at - 1], "min");
    for (std::size_t at = i; at < end; ++at) add(mean, hours[at], "mean");
    out += "<polygon class=\"range\" points=\"" + upper + lower + "\"/>\n";
    out += "<polyline class=\"mean\" points=\"" + mean + "\"/>\n";
    i = end;
  }
  return out;
}

std::string axes(const Frame& frame) {
  std::string out;
  const double step = frame.high - frame.low > 40 ? 20 : frame.high - frame.low > 12 ? 5 : 1;
  for (double value = std::ceil(frame.low / step) * step; value <= frame.high; value += step) {
    const std::string y = number(frame.y(value));
    out += "<line class=\"grid\" x1=\"" + number(kLeft) + "\" x2=\"" + number(kLeft + kWide) +
           "\" y1=\"" + y + "\" y2=\"" + y + "\"/>\n<text x=\"" + number(kLeft - 6) + "\" y=\"" +
           number(frame.y(value) + 4) + "\" text-anchor=\"end\">" +
           std::to_string(std::lround(value)) + "</text>\n";
  }
  const double days = (frame.to - frame.from) / 86'400'000;
  const int every = days > 15 ? 5 : days > 4 ? 2 : 1;
  for (int day = 0; day <= days; day += every) {
    const std::string x = number(frame.x(frame.from + day * 86'400'000.0));
    out += "<line class=\"grid\" x1=\"" + x + "\" x2=\"" + x + "\" y1=\"" + number(kTop) +
           "\" y2=\"" + number(kTop + kHigh) + "\"/>\n<text x=\"" + x + "\" y=\"" +
           number(kTop + kHigh + 16) + "\" text-anchor=\"middle\">" + std::to_string(day) +
           "</text>\n";
  }
  return out;
}

// Those of high priority last, so that none lies over them.
std::string alarm_marks(const Frame& frame, const Json& report) {
  std::string usual;
  std::string urgent;
  for (const Json& each : report["alarms"]) {
    const bool high = each["priority"] == "high";
    (high ? urgent : usual) += std::string("<path class=\"") + (high ? "alarm high" : "alarm") +
                               "\" d=\"M" + number(frame.x(ms(each, "raised")) - 4) + " " +
                               number(kTop) + "h8l-4 8z\"/>\n";
  }
  return usual + urgent;
}

}  // namespace

std::string report_curve(const Json& report, const std::string& quantity) {
  const Json& hours = report[quantity];
  if (hours.empty()) return {};
  const bool heat = quantity == "temperature";
  Frame frame;
  frame.from = ms(report, "set_at");
  frame.to = std::max(ms(report, "until"), frame.from + 3'600'000);
  const bool fahrenheit = in_fahrenheit(report);
  frame.low = !heat ? 40 : fahrenheit ? 97 : 36;
  frame.high = !heat ? 80 : fahrenheit ? 102 : 39;
  for (const Json& each : hours) {
    frame.low = std::min(frame.low, std::floor(each["min"].get<double>()));
    frame.high = std::max(frame.high, std::ceil(each["max"].get<double>()));
  }
  std::string out = "<svg viewBox=\"0 0 " + number(kLeft + kWide + 8) + " " +
                    number(kTop + kHigh + 24) + "\" role=\"img\" aria-label=\"" +
                    (heat ? "Temperature" : "Humidity") + " over the days\">\n";
  for (const Json& stage : report["stages"]) {
    if (heat) {
      // The room that the built-in ladder leaves around the target.
      const double target = stage["target"];
      const double degree = fahrenheit ? in_shown(1, Degrees::difference) : 1;
      out += rectangle(frame, "band", stage, target - kStepsBelow[0] * degree,
                       target + kStepsAbove[0] * degree);
    } else if (stage["humidity_from"].is_number() && stage["humidity_to"].is_number()) {
      out += rectangle(frame, "band", stage, stage["humidity_from"], stage["humidity_to"]);
    }
  }
  out += axes(frame) + curve(frame, hours);
  if (heat) out += alarm_marks(frame, report);
  return out + "</svg>";
}

}  // namespace clutchward
