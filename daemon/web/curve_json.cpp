// A curve for programs: the page's own script and others.
#include <nlohmann/json.hpp>

#include "base/text.h"
#include "web/curve_view.h"

namespace clutchward {
namespace {

using Json = nlohmann::ordered_json;

// The double nearest to a decimal of three places prints as that decimal again.
Json decimal(Milli value) { return static_cast<double>(value) / 1000; }
Json decimal(const std::optional<Milli>& value) { return value ? decimal(*value) : Json(); }
Json seconds(Wall at) { return at.time_since_epoch() / std::chrono::seconds(1); }
Json text(const std::string& value) { return value.empty() ? Json() : Json(value); }

Json steps_json(const std::vector<CurveStep>& steps) {
  Json out = {{"at", Json::array()},
              {"min", Json::array()},
              {"mean", Json::array()},
              {"max", Json::array()}};
  for (const CurveStep& step : steps) {
    out["at"].push_back(seconds(step.at));
    out["min"].push_back(decimal(step.low));
    out["mean"].push_back(decimal(step.mean));
    out["max"].push_back(decimal(step.high));
  }
  return out;
}

Json bands_json(const std::vector<CurveBand>& bands) {
  Json out = Json::array();
  for (const CurveBand& band : bands)
    out.push_back({{"from", seconds(band.from)},
                   {"to", seconds(band.to)},
                   {"low", decimal(band.low)},
                   {"high", decimal(band.high)},
                   {"target", decimal(band.target)},
                   {"stage", text(band.stage)}});
  return out;
}

}  // namespace

std::string curve_json(const CurveView& view) {
  Json out;
  out["cabinet"] = view.wanted.stays.back().cabinet;
  out["batch"] = text(view.wanted.batch);
  out["from"] = seconds(view.wanted.from());
  out["to"] = seconds(view.wanted.to());
  out["step"] = view.wanted.step / std::chrono::seconds(1);
  static const CurveFound kNothing;
  const CurveFound& curve = view.curve ? *view.curve : kNothing;
  out["trouble"] = text(curve.trouble);
  out["every"] = curve.every;
  out["temperature"] = steps_json(curve.temperature);
  out["humidity"] = steps_json(curve.humidity);
  out["bands"] = {{"temperature", bands_json(view.temperature)},
                  {"humidity", bands_json(view.humidity)}};
  out["alarms"] = Json::array();
  for (const CurveAlarm& alarm : view.alarms)
    out["alarms"].push_back({{"alarm", alarm.alarm},
                             {"batch", text(alarm.batch)},
                             {"kind", name_of(alarm.kind)},
                             {"quantity", name_of(alarm.quantity)},
                             {"priority", name_of(alarm.priority)},
                             {"from", seconds(alarm.from)},
                             {"to", alarm.to ? seconds(*alarm.to) : Json()},
                             {"worst", decimal(alarm.worst)}});
  return out.dump(-1, ' ', false, Json::error_handler_t::replace);
}

std::string curve_csv(const CurveView& view) {
  std::string out = "at,quantity,min,mean,max\r\n";
  if (!view.curve) return out;
  const auto add = [&](const char* quantity, const std::vector<CurveStep>& steps) {
    for (const CurveStep& step : steps)
      out += to_rfc3339(step.at) + "," + quantity + "," + milli_exact(step.low) + "," +
             milli_exact(step.mean) + "," + milli_exact(step.high) + "\r\n";
  };
  add("temperature", view.curve->temperature);
  add("humidity", view.curve->humidity);
  return out;
}

}  // namespace clutchward
