// The report's tables as CSV, and the figures by which batches compare.
#include "report/csv_cell.h"
#include "report/report.h"

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

// The columns are the keys of the first row: every row of one table has the same. A temperature
// that is not in °C says so.
std::string table(const Json& rows, std::string_view part, bool fahrenheit) {
  if (rows.empty()) return {};
  std::string out;
  for (const auto& [key, value] : rows.front().items())
    out += (out.empty() ? "" : ",") + key +
           (fahrenheit && degrees_of(part, key) != Degrees::none ? "_f" : "");
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

}  // namespace

std::string report_text(const Json& report) {
  return report.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

Json report_figures(const Json& report) {
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
  out["unaccounted"] = from("hatch", "unaccounted");
  out["fertility_percent_at_most"] = from("hatch", "fertility_percent_at_most");
  out["hatch_of_fertile_percent_at_least"] = from("hatch", "hatch_of_fertile_percent_at_least");
  return out;
}

Json figures_shown(const Json& report) {
  Json figures = report_figures(report);
  Json& mean = figures["mean_temperature"];
  if (in_fahrenheit(report) && mean.is_number())
    mean = rounded(in_shown(mean.get<double>(), Degrees::absolute));
  return figures;
}

std::vector<std::pair<std::string, std::string>> report_csv(const Json& report) {
  std::vector<std::pair<std::string, std::string>> files;
  const bool fahrenheit = in_fahrenheit(report);
  const Json shown = as_shown(report);
  files.emplace_back("batch.csv", table(Json::array({figures_shown(report)}), "", fahrenheit));
  for (const char* part : {"stages", "temperature", "humidity", "steps", "excursions", "alarms",
                           "turning", "airings", "candlings", "moves"})
    files.emplace_back(std::string(part) + ".csv", table(shown[part], part, fahrenheit));
  files.emplace_back("weighings.csv", table(report["mass"]["weighings"], "mass", false));
  if (report["hatch"].contains("classes"))
    files.emplace_back("deaths.csv", table(report["hatch"]["classes"], "hatch", false));
  std::erase_if(files, [](const auto& file) { return file.second.empty(); });
  return files;
}

}  // namespace clutchward
