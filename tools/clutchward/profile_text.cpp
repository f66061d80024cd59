// Writes profiles; reads only the comments of their files.
#include "profile_text.h"

#include <algorithm>
#include <cmath>
#include <fstream>

#include "base/limits.h"
#include "base/text.h"
#include "screen.h"

namespace clutchward {
namespace {

using Json = nlohmann::ordered_json;

double days_of(Span span) { return static_cast<double>(span.count()) / 86'400'000; }
std::string number_text(double value) { return milli_exact(std::llround(value * 1000)); }
std::string padded(const std::string& text, std::size_t width) {
  return text + std::string(std::max(width, width_of(text)) - width_of(text), ' ');
}

std::string hour_text(Span time) {
  const auto minutes = std::chrono::floor<std::chrono::minutes>(time).count();
  const auto two = [](std::int64_t number) {
    return (number < 10 ? "0" : "") + std::to_string(number);
  };
  return two(minutes / 60) + ":" + two(minutes % 60);
}

std::string turning_text(const Stage& stage) {
  if (stage.turn_every) return "turned every " + to_text(*stage.turn_every);
  if (stage.turn_any) return "turned as you like";
  if (stage.turn_at.empty()) return "not turned";
  std::string text = "turned by hand at";
  for (const Span time : stage.turn_at) text += " " + hour_text(time);
  return text;
}

std::string cooling_text(const CoolingWindow& window) {
  return ", cooled " + to_text(window.lasts) +
         (window.due_by ? " by hand by " + hour_text(*window.due_by)
                        : " at " + hour_text(window.at));
}

std::string stage_text(const Stage& stage, std::size_t widest) {
  std::string text = "  from day " + padded(number_text(days_of(stage.from)), 5) + "  " +
                     padded(tame(stage.name), widest) + "  " + milli_text(stage.target, 1) + " °C";
  if (stage.target_still) text += " (still air " + milli_text(*stage.target_still, 1) + ")";
  if (stage.humidity)
    text += "  " + milli_exact(stage.humidity->from) + "-" + milli_exact(stage.humidity->to) + " %";
  text += "  " + turning_text(stage);
  for (const CoolingWindow& window : stage.cooling) text += cooling_text(window);
  if (stage.begins == Begins::moved) text += ", begins when moved";
  return text + "\n";
}

std::string dates_text(const Profile& profile) {
  std::string text;
  const auto window = [&](const char* what, const std::optional<DayWindow>& days) {
    if (days)
      text += std::string("  ") + what + " day " + number_text(days->from) + " to " +
              number_text(days->to) + "\n";
  };
  window("chicks   ", profile.hatch);
  window("pipping  ", profile.pip);
  if (!profile.candling.empty()) {
    text += "  candling  day";
    for (const double day : profile.candling) text += " " + number_text(day);
    text += "\n";
  }
  if (profile.transfer_day)
    text += "  to the hatcher on day " + number_text(*profile.transfer_day) + "\n";
  if (profile.mass_loss)
    text += "  mass loss " + number_text(profile.mass_loss->from) + "-" +
            number_text(profile.mass_loss->to) + " % by day " +
            number_text(profile.mass_loss->by_day) + "\n";
  return text;
}

std::string trimmed(const std::string& text) {
  const auto first = text.find_first_not_of(" \t\r");
  if (first == std::string::npos) return {};
  return text.substr(first, text.find_last_not_of(" \t\r") - first + 1);
}

Json milli_json(std::optional<Milli> value) { return value ? Json(*value / 1000.0) : Json(); }

Json window_json(const std::optional<DayWindow>& days) {
  return days ? Json{{"from", days->from}, {"to", days->to}} : Json();
}

Json stage_json(const Stage& stage) {
  Json out = {{"name", stage.name}, {"from_day", days_of(stage.from)}};
  out["begins"] = stage.begins == Begins::moved ? "moved" : "by_clock";
  out["target"] = stage.target / 1000.0;
  out["target_still"] = milli_json(stage.target_still);
  out["humidity"] = Json();
  if (stage.humidity)
    out["humidity"] = {{"from", stage.humidity->from / 1000.0},
                       {"to", stage.humidity->to / 1000.0}};
  out["turn_every_minutes"] =
      stage.turn_every ? Json(static_cast<double>(stage.turn_every->count()) / 60'000) : Json();
  out["turn_any"] = stage.turn_any;
  out["turn_at"] = Json::array();
  for (const Span time : stage.turn_at) out["turn_at"].push_back(hour_text(time));
  out["coolings_a_day"] = stage.cooling.size();
  out["cooling"] = Json::array();
  for (const CoolingWindow& window : stage.cooling)
    out["cooling"].push_back({{"at", window.due_by ? Json() : Json(hour_text(window.at))},
                              {"due_by", window.due_by ? Json(hour_text(*window.due_by)) : Json()},
                              {"minutes", static_cast<double>(window.lasts.count()) / 60'000}});
  return out;
}

}  // namespace

std::vector<SourceLine> sources_in(const std::string& file) {
  std::vector<SourceLine> found;
  std::ifstream in(file);
  std::string above;
  std::size_t read = 0;
  for (std::string line; std::getline(in, line) && read < limits::kConfigBytes;) {
    read += line.size() + 1;
    const std::string text = trimmed(line);
    if (text.starts_with("#")) {
      above += (above.empty() ? "" : " ") + trimmed(text.substr(1));
      continue;
    }
    // A '#' after a blank opens a comment.
    const auto beside = text.find(" #");
    const std::string value = trimmed(text.substr(0, beside));
    std::string source = above;
    if (beside != std::string::npos)
      source += (source.empty() ? "" : " ") + trimmed(text.substr(beside + 2));
    const bool figure = value.find_first_of("0123456789") != std::string::npos ||
                        value.find(": off") != std::string::npos;
    if (figure && !source.empty()) found.push_back({value, source});
    above.clear();
  }
  return found;
}

std::string profile_text(const Profile& profile, const std::vector<SourceLine>& sources) {
  std::string text =
      tame(profile.name) + " (" + tame(profile.id) + "), " + number_text(profile.days) + " days";
  if (!profile.based_on.empty()) text += ", based on " + tame(profile.based_on);
  text += "\n" + dates_text(profile);
  std::size_t widest = 0;
  for (const Stage& stage : profile.stages) widest = std::max(widest, width_of(tame(stage.name)));
  for (const Stage& stage : profile.stages) text += stage_text(stage, widest);
  if (sources.empty()) return text;
  text += "Where its figures come from:\n";
  for (const SourceLine& each : sources)
    text += "  " + tame(each.line) + "\n      " + tame(each.source) + "\n";
  return text;
}

Json profile_json(const Profile& profile, const std::vector<SourceLine>& sources) {
  Json out = {{"profile", profile.id}, {"name", profile.name}};
  out["based_on"] = profile.based_on.empty() ? Json() : Json(profile.based_on);
  out["days"] = profile.days;
  out["hatch"] = window_json(profile.hatch);
  out["pip"] = window_json(profile.pip);
  out["candling"] = profile.candling;
  out["transfer_day"] = profile.transfer_day ? Json(*profile.transfer_day) : Json();
  out["mass_loss"] = Json();
  if (profile.mass_loss)
    out["mass_loss"] = {{"by_day", profile.mass_loss->by_day},
                        {"from", profile.mass_loss->from},
                        {"to", profile.mass_loss->to}};
  out["stages"] = Json::array();
  for (const Stage& stage : profile.stages) out["stages"].push_back(stage_json(stage));
  if (!sources.empty()) {
    out["sources"] = Json::array();
    for (const SourceLine& each : sources)
      out["sources"].push_back({{"line", each.line}, {"source", each.source}});
  }
  return out;
}

}  // namespace clutchward
