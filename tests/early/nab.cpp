// One sample a minute: the logs have one in five minutes (a machine) and one an hour (an office),
// and a cabinet's rules look at minutes. Fahrenheit, as their values are (the corpus does not say);
// the first 15 % are for learning, as the corpus itself has it, and no warning there counts.
#include "nab.h"

#include <algorithm>
#include <fstream>
#include <iostream>
#include <map>
#include <nlohmann/json.hpp>

#include "engine/engine.h"
#include "statistics/chart.h"
#include "statistics/robust.h"

namespace clutchward::early {
namespace {

using namespace std::chrono_literals;

struct Sample {
  std::string at;
  double value = 0;
};

std::vector<Sample> read_log(const std::string& path) {
  std::ifstream in(path);
  std::vector<Sample> samples;
  std::string line;
  std::getline(in, line);
  while (std::getline(in, line)) {
    const auto comma = line.find(',');
    if (comma != std::string::npos)
      samples.push_back({line.substr(0, comma), std::stod(line.substr(comma + 1))});
  }
  return samples;
}

struct Warning {
  std::string rule;
  std::size_t sample;
};

Settings settings_for(double centre_c, double spread_c, std::size_t learn) {
  Settings settings;
  settings.site = "Saltmere";
  TopicPattern pattern;
  pattern.topic = "log/{cabinet}/{probe}";
  pattern.quantity = Quantity::temperature;
  pattern.unit = Unit::fahrenheit;
  settings.patterns = {pattern};
  for (const char* off : {"overheat", "silent", "blind", "spread", "power"})
    settings.rules[off].off = true;
  const auto milli = [](double celsius) { return static_cast<Milli>(celsius * 1000); };
  // Six robust spreads from the middle stand for the limits that a keeper would have set.
  RulePatch& down = settings.rules["heading_down"];
  down.kind = RuleKind::rate;
  down.machine = true;
  down.early.towards = Towards::low;
  down.limit = milli(centre_c - 6 * spread_c);
  RulePatch& up = settings.rules["heading_up"];
  up.kind = RuleKind::rate;
  up.machine = true;
  up.limit = milli(centre_c + 6 * spread_c);
  RulePatch& drift = settings.rules["drift"];
  drift.kind = RuleKind::trend;
  drift.machine = true;
  drift.early.learn = Span(1min) * static_cast<Span::rep>(learn);
  for (const char* rule : {"heading_down", "heading_up", "drift"})
    settings.rules[rule].latch = false;
  return settings;
}

std::vector<Warning> play_log(const std::vector<Sample>& samples, std::size_t learn) {
  std::vector<double> celsius;
  for (std::size_t i = 0; i < learn; ++i) celsius.push_back((samples[i].value - 32) / 1.8);
  const double centre = median(celsius);
  const double spread = kMadToSigma * median_deviation(celsius);
  const auto moment = [](std::size_t i) {
    const Span at = Span(1min) * static_cast<Span::rep>(i);
    return Moment{Steady{24h + at}, Wall{Span{1772352000000}} + at, true};
  };
  Engine engine(settings_for(centre, spread, learn), Zone(), moment(0), true);
  engine.begin();
  std::vector<Warning> warnings;
  for (std::size_t i = 0; i < samples.size(); ++i) {
    engine.message("log/c/main", std::to_string(samples[i].value), false, moment(i));
    for (const AlarmEvent& event : engine.take_events())
      if (event.kind == EventKind::raised && i >= learn) warnings.push_back({event.key.alarm, i});
    engine.take_changes();
  }
  return warnings;
}

void report(const std::string& name, const std::vector<Sample>& samples,
            const nlohmann::json& windows, const nlohmann::json& labels, bool first) {
  const std::size_t learn = samples.size() * 15 / 100;
  const auto warnings = play_log(samples, learn);
  nlohmann::ordered_json out;
  out["samples"] = samples.size();
  out["learned_from"] = learn;
  for (const char* rule : {"drift", "heading_up", "heading_down"}) {
    int found = 0;
    int outside = 0;
    nlohmann::ordered_json leads = nlohmann::ordered_json::array();
    std::vector<bool> hit(windows.size());
    for (const Warning& warning : warnings) {
      if (warning.rule != rule) continue;
      const std::string& at = samples[warning.sample].at;
      bool inside = false;
      for (std::size_t w = 0; w < windows.size(); ++w) {
        const std::string from = windows[w][0].get<std::string>().substr(0, 19);
        const std::string to = windows[w][1].get<std::string>().substr(0, 19);
        if (at < from || at > to) continue;
        inside = true;
        if (hit[w]) continue;
        hit[w] = true;
        ++found;
        const std::string label = labels[w].get<std::string>().substr(0, 19);
        // In samples, so that a log's holes are no lead.
        std::size_t label_at = 0;
        while (label_at < samples.size() && samples[label_at].at < label) ++label_at;
        leads.push_back(static_cast<double>(label_at) - static_cast<double>(warning.sample));
      }
      outside += inside ? 0 : 1;
    }
    out[rule] = {{"windows", windows.size()},
                 {"found", found},
                 {"lead_samples_before_the_label", leads},
                 {"warnings_outside", outside}};
  }
  std::cout << (first ? "" : ",\n") << "  \"" << name << "\": " << out.dump();
}

}  // namespace

int nab(const std::string& folder) {
  std::ifstream windows_file(folder + "/combined_windows.json");
  std::ifstream labels_file(folder + "/combined_labels.json");
  if (!windows_file || !labels_file) {
    std::cout << "{\"nab\": \"skipped: no logs in " << folder << "\"}\n";
    return 0;
  }
  const auto windows = nlohmann::json::parse(windows_file);
  const auto labels = nlohmann::json::parse(labels_file);
  std::cout << "{\"nab\": {\n";
  bool first = true;
  for (const char* name :
       {"machine_temperature_system_failure", "ambient_temperature_system_failure"}) {
    const std::string file = std::string(name) + ".csv";
    report(name, read_log(folder + "/" + file), windows.at(file), labels.at(file), first);
    first = false;
  }
  std::cout << "\n}}\n";
  return 0;
}

}  // namespace clutchward::early
