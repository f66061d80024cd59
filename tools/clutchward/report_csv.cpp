// The report's tables as CSV, and several reports beside one another.
#include <algorithm>

#include "csv_cell.h"
#include "report.h"
#include "screen.h"

namespace clutchward {
namespace {

std::string cell_text(const Json& value) {
  if (value.is_null()) return {};
  if (value.is_string()) return csv_cell(value.get<std::string>());
  if (!value.is_object() && !value.is_array()) return value.dump();
  std::string out;  // eggs by fate: "infertile 3; dead_early 1"
  for (const auto& [key, each] : value.items())
    out += (out.empty() ? "" : "; ") + key + " " + each.dump();
  return csv_cell(out);
}

// The columns are the keys of the first row: every row of one table has the same.
std::string table(const Json& rows) {
  if (rows.empty()) return {};
  std::string out;
  for (const auto& [key, value] : rows.front().items()) out += (out.empty() ? "" : ",") + key;
  out += "\r\n";
  for (const Json& row : rows) {
    std::string line;
    bool first = true;
    for (const auto& [key, value] : rows.front().items()) {
      if (!std::exchange(first, false)) line += ",";
      line += row.contains(key) ? cell_text(row[key]) : "";
    }
    out += line + "\r\n";
  }
  return out;
}

Json figures(const Json& report) {
  const auto from = [&](const char* part, const char* key) {
    const Json& object = report[part];
    return object.contains(key) ? object[key] : Json();
  };
  double above = 0;
  double below = 0;
  for (const Json& each : report["steps"]) {
    if (each["side"] == "above" && each["by"] == kStepsAbove[0]) above = each["hours"];
    if (each["side"] == "below" && each["by"] == kStepsBelow[0]) below = each["hours"];
  }
  Json out;
  out["batch"] = report["batch"];
  out["name"] = report["name"];
  out["set_at"] = report["set_at"];
  out["eggs"] = report["eggs"];
  out["mean_temperature"] = from("temperature_summary", "mean");
  out["hours_above"] = report["steps"].empty() ? Json() : Json(above);
  out["hours_below"] = report["steps"].empty() ? Json() : Json(below);
  out["mean_humidity"] = from("humidity_summary", "mean");
  out["mass_lost_percent"] = from("mass", "lost_percent");
  out["alarms"] = report["alarms"].size();
  out["fertility_percent"] = from("hatch", "fertility_percent");
  out["hatch_of_fertile_percent"] = from("hatch", "hatch_of_fertile_percent");
  out["hatch_of_set_percent"] = from("hatch", "hatch_of_set_percent");
  return out;
}

}  // namespace

std::vector<std::pair<std::string, std::string>> report_csv(const Json& report) {
  std::vector<std::pair<std::string, std::string>> files;
  files.emplace_back("batch.csv", table(Json::array({figures(report)})));
  for (const char* part : {"stages", "temperature", "humidity", "steps", "excursions", "alarms",
                           "turning", "airings", "candlings", "moves"})
    files.emplace_back(std::string(part) + ".csv", table(report[part]));
  files.emplace_back("weighings.csv", table(report["mass"]["weighings"]));
  if (report["hatch"].contains("classes"))
    files.emplace_back("deaths.csv", table(report["hatch"]["classes"]));
  std::erase_if(files, [](const auto& file) { return file.second.empty(); });
  return files;
}

Json comparison_json(const std::vector<Json>& reports) {
  Json out = Json::array();
  for (const Json& each : reports) out.push_back(figures(each));
  return out;
}

// A line a figure, a column a batch.
std::string comparison_text(const Json& comparison) {
  std::string out;
  for (const auto& [key, unused] : comparison.front().items()) {
    std::string line = key;
    std::replace(line.begin(), line.end(), '_', ' ');
    line.resize(26, ' ');
    for (const Json& batch : comparison) {
      const Json& value = batch[key];
      std::string text = value.is_null()     ? "-"
                         : value.is_string() ? tame(value.get<std::string>())
                                             : value.dump();
      const std::size_t width = width_of(text);
      line += "  " + text + std::string(width < 24 ? 24 - width : 0, ' ');
    }
    while (line.ends_with(' ')) line.pop_back();
    out += line + "\n";
  }
  return out;
}

}  // namespace clutchward
