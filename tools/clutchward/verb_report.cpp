// `clutchward report`: one batch as a page, CSV or JSON, or several beside one another. Reads the
// history file; reaches no daemon.
#include <sysexits.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <iostream>

#include "app/report_source.h"
#include "history_door.h"
#include "loop/zone_loader.h"
#include "report/report.h"
#include "screen.h"
#include "talk.h"
#include "verb.h"

namespace clutchward {
namespace {

struct ReportArguments {
  std::vector<std::string> batches;
  std::string state;
  std::string file;
  std::string out;
  std::string csv;
  std::optional<double> egg_lag;
  bool json = false;
  bool compare = false;
};

int print(const std::string& text) {
  std::cout << text << std::flush;
  return std::cout ? EX_OK : complain("the output cannot be written", EX_IOERR);
}

// Beside its place first, so that a full disk does not leave half a page.
int write_file(const std::filesystem::path& path, const std::string& text) {
  std::filesystem::path part = path;
  part += ".part";
  std::ofstream file(part, std::ios::binary | std::ios::trunc);
  file << text;
  file.close();
  std::error_code error;
  if (file) std::filesystem::rename(part, path, error);
  if (file && !error) return EX_OK;
  const std::string why = error ? error.message() : std::strerror(errno);
  std::filesystem::remove(part, error);
  return complain(path.string() + ": cannot be written: " + why, EX_CANTCREAT);
}

int write_csv(const std::string& folder, const Json& report) {
  std::error_code error;
  std::filesystem::create_directories(folder, error);
  if (error) return complain(folder + ": " + error.message(), EX_CANTCREAT);
  for (const auto& [name, text] : report_csv(report))
    if (const int code = write_file(std::filesystem::path(folder) / name, text)) return code;
  return EX_OK;
}

int write_page(const ReportArguments& arguments, const Json& report) {
  // A zone that this machine does not know: the page is better in UTC than not at all.
  Json shown = report;
  auto zone = load_zone(report["timezone"].get<std::string>());
  if (!zone) {
    shown["timezone"] = "UTC";
    zone = load_zone("UTC");
  }
  if (!zone) return complain(zone.why(), EX_OSFILE);
  const std::string page = report_html(shown, *zone);
  if (arguments.out.empty() || arguments.out == "-") return print(page);
  return write_file(arguments.out, page);
}

std::string cell(const std::string& key, const Json& batch, const Zone& zone) {
  const Json& value = batch[key];
  if (value.is_null()) return "-";
  if (value.is_number()) {
    const bool open = batch["unaccounted"].is_number() && batch["unaccounted"] > 0;
    const std::string bound = !open                               ? ""
                              : key == "fertility_percent"        ? "at least "
                              : key == "hatch_of_fertile_percent" ? "at most "
                                                                  : "";
    return bound + number_text(value.get<double>());
  }
  if (!value.is_string()) return value.dump();
  const auto text = value.get<std::string>();
  const auto at = key == "set_at" ? parse_rfc3339(text) : std::nullopt;
  if (!at) return tame(text);
  const std::string local = to_rfc3339(Wall{zone.to_local(*at).time_since_epoch()});
  return local.substr(0, 10) + " " + local.substr(11, 5) + " " + zone.abbreviation_at(*at);
}

// A line a figure, a column a batch; in the units and by the clock of the first one's site.
std::string comparison_text(const std::vector<Json>& reports) {
  const bool fahrenheit = in_fahrenheit(reports.front());
  const auto zone = load_zone(reports.front()["timezone"].get<std::string>());
  Json comparison = Json::array();
  for (Json report : reports) {
    report["show"] = reports.front()["show"];
    comparison.push_back(figures_shown(report));
  }
  std::string out;
  for (const auto& [key, unused] : comparison.front().items()) {
    std::string line = key;
    std::replace(line.begin(), line.end(), '_', ' ');
    if (key == "unaccounted") line = "not accounted for";
    if (key == "mean_temperature") line += fahrenheit ? " °F" : " °C";
    const std::size_t has = width_of(line);
    line += std::string(has < 35 ? 35 - has : 0, ' ');
    for (const Json& batch : comparison) {
      const std::string text = cell(key, batch, zone ? *zone : Zone());
      const std::size_t width = width_of(text);
      line += "  " + text + std::string(width < 24 ? 24 - width : 0, ' ');
    }
    while (line.ends_with(' ')) line.pop_back();
    out += line + "\n";
  }
  return out;
}

int run_report(const ReportArguments& arguments) {
  if (!arguments.compare && arguments.batches.size() > 1)
    return complain("one batch a report: to see several beside one another, add --compare",
                    EX_USAGE);
  std::string path;
  HistoryFile file;
  if (const int code = open_history(arguments.file, arguments.state, file, path)) return code;
  std::vector<Json> reports;
  for (const std::string& batch : arguments.batches) {
    auto source = read_report_source(&file, {}, batch);
    if (!source) return complain(path + ": " + source.why(), EX_DATAERR);
    source->egg_lag_min = arguments.egg_lag;
    reports.push_back(report_json(*source));
  }
  if (arguments.compare) {
    Json comparison = Json::array();
    for (const Json& each : reports) comparison.push_back(report_figures(each));
    return print(arguments.json ? report_text(comparison) : comparison_text(reports));
  }
  const Json& report = reports.front();
  if (!arguments.csv.empty())
    if (const int code = write_csv(arguments.csv, report)) return code;
  if (arguments.json) {
    if (const int code = print(report_text(report))) return code;
    return arguments.out.empty() ? EX_OK : write_page(arguments, report);
  }
  if (!arguments.csv.empty() && arguments.out.empty()) return EX_OK;
  return write_page(arguments, report);
}

}  // namespace

void add_report(CLI::App& app, Run& run) {
  auto* verb = app.add_subcommand("report", "A batch's report as a page, or several compared");
  auto arguments = std::make_shared<ReportArguments>();
  verb->add_option("batch", arguments->batches, "the batch; several with --compare")->required();
  auto* state =
      verb->add_option("--state", arguments->state, "the daemon's state folder, where it lies");
  verb->add_option("--history", arguments->file, "the database itself")->excludes(state);
  auto* out = verb->add_option("--out", arguments->out, "the page goes there, not to the terminal");
  auto* csv = verb->add_option("--csv", arguments->csv, "its tables as CSV files in this folder");
  verb->add_option(
          "--egg-lag", arguments->egg_lag,
          "minutes that an egg lags behind the air: by its mass where it was weighed, else "
          "as published for a hen's")
      ->check(CLI::Range(1.0, 600.0));
  verb->add_flag("--json", arguments->json, "the same as one JSON document");
  verb->add_flag("--compare", arguments->compare, "the batches' figures beside one another")
      ->excludes(out)
      ->excludes(csv);
  verb->callback([&run, arguments] { run = [arguments] { return run_report(*arguments); }; });
}

}  // namespace clutchward
