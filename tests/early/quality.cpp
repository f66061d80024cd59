// How well the early warnings do, as figures: `quality faults SEEDS` (simulated faults: lead before
// the limit), `quality quiet CABINETS DAYS` (false warnings), `quality nab FOLDER` (two real logs
// with labelled failures, NAB: Ahmad et al., Neurocomputing 2017). One JSON object on standard
// output.
#include <algorithm>
#include <fstream>
#include <iostream>
#include <map>
#include <sstream>

#include "nab.h"
#include "run.h"

namespace clutchward::early {
namespace {

using namespace std::chrono_literals;

const std::vector<std::string> kEarlyAlarms = {"heading_up", "heading_down", "drift"};

struct Case {
  const char* name;
  sim::FaultKind kind;
  double size;
  const char* probe;
  Milli limit;  // where harm begins, 0: nowhere
  bool below;
};
// The limits of the ladder's rules high and low, target plus 2.0 and minus 3.0.
const Case kCases[] = {
    {"creep 0.5 C/h", sim::FaultKind::creep, 0.5, "", 39'500, false},
    {"creep 1.5 C/h", sim::FaultKind::creep, 1.5, "", 39'500, false},
    {"weak heater (20 % below need)", sim::FaultKind::heater_on, -1, "", 34'500, true},
    {"heater stuck on", sim::FaultKind::heater_on, 1, "", 39'500, false},
    {"heater dead", sim::FaultKind::heater_dead, 0, "", 34'500, true},
    {"door open", sim::FaultKind::door, 1, "", 34'500, true},
    {"mains lost", sim::FaultKind::power, 0, "", 34'500, true},
    {"fan stopped", sim::FaultKind::fan, 0, "", 0, false},
    {"probe frozen, then creep", sim::FaultKind::probe_frozen, 0, "top", 39'500, false},
};

double minutes(Span span) { return std::chrono::duration<double, std::ratio<60>>(span).count(); }

double middle(std::vector<double> values) {
  if (values.empty()) return 0;
  std::sort(values.begin(), values.end());
  return values[values.size() / 2];
}

// Where the heater can give no more than this share, an average room asks for a fifth more.
double weak_share(const sim::CabinetSettings& cabinet) {
  const sim::Machine& machine = cabinet.machine;
  return 0.8 * machine.loss_w_per_k * (37.5 - cabinet.room_c) / machine.heater_w;
}

int faults(const std::string& root, int seeds) {
  const Settings settings = shipped(root);
  constexpr Span kFrom = 12h;
  bool first_case = true;
  std::cout << "{\"faults\": {";
  for (const Case& each : kCases) {
    std::vector<double> leads;
    std::vector<double> lead_of_ladder;
    std::map<std::string, int> firsts;
    int past = 0;
    int missed = 0;
    int before = 0;
    for (int seed = 1; seed <= seeds; ++seed) {
      const auto cabinet = cabinet_of(static_cast<std::uint64_t>(seed));
      std::vector<sim::Fault> list = {{"c", each.kind, kFrom, {}, each.size, each.probe}};
      if (each.size < 0) list[0].size = weak_share(cabinet);
      if (each.kind == sim::FaultKind::probe_frozen)
        list.push_back({"c", sim::FaultKind::creep, kFrom + 1h, {}, 0.5, ""});
      const Run run = play(settings, cabinet, list, kFrom + 12h);
      if (const auto early = run.first(kEarlyAlarms, Span{0}); early && *early < kFrom) ++before;
      std::optional<Span> any;
      for (const Told& told : run.told) {
        if (told.at < kFrom || told.event.kind != EventKind::raised) continue;
        ++firsts[told.event.key.alarm];
        any = told.at;
        break;
      }
      const auto harm = each.limit != 0 ? run.past(each.limit, each.below) : std::nullopt;
      if (!harm) continue;
      ++past;
      const auto early = run.first(kEarlyAlarms, kFrom);
      if (early && *early < *harm)
        leads.push_back(minutes(*harm - *early));
      else
        ++missed;
      if (const auto ladder = run.first({"warm", "hot", "high", "cool", "cool_long", "low"}, kFrom))
        lead_of_ladder.push_back(minutes(*harm - *ladder));
    }
    std::cout << (first_case ? "" : ",") << "\n  \"" << each.name << "\": {\"seeds\": " << seeds
              << ", \"reached_the_limit\": " << past << ", \"warned_before\": " << leads.size()
              << ", \"not_warned\": " << missed << ", \"lead_median_min\": " << middle(leads)
              << ", \"lead_least_min\": "
              << (leads.empty() ? 0 : *std::min_element(leads.begin(), leads.end()))
              << ", \"ladder_lead_median_min\": " << middle(lead_of_ladder)
              << ", \"early_before_the_fault\": " << before << ", \"first_told\": {";
    bool first = true;
    for (const auto& [alarm, count] : firsts) {
      std::cout << (first ? "" : ", ") << "\"" << alarm << "\": " << count;
      first = false;
    }
    std::cout << "}}" << std::flush;
    first_case = false;
  }
  std::cout << "\n}}\n";
  return 0;
}

// A door of so many minutes a day, without anybody saying that he is there: looked at, watered,
// candled.
std::vector<sim::Fault> doors(int days, int minutes) {
  std::vector<sim::Fault> list;
  for (int day = 0; minutes > 0 && day < days; ++day) {
    const Span from = std::chrono::days{day} + 9h;
    list.push_back({"c", sim::FaultKind::door, from, from + std::chrono::minutes{minutes}, 1, ""});
  }
  return list;
}

int quiet(const std::string& root, int cabinets, int days, int door) {
  Settings settings = shipped(root);
  // A month is longer than a batch: one that lasts keeps its rules.
  Profile& profile = settings.profiles["bench-hen"];
  profile.days = 40;
  profile.stages.resize(1);
  std::map<std::string, int> rings;
  int total = 0;
  int early = 0;
  int worst = 0;
  for (int seed = 1; seed <= cabinets; ++seed) {
    auto cabinet = cabinet_of(static_cast<std::uint64_t>(1000 + seed));
    const Run run = play(settings, cabinet, doors(days, door), std::chrono::days{days});
    int here = 0;
    for (const Told& told : run.told) {
      if (told.event.kind != EventKind::raised) continue;
      ++rings[told.event.key.alarm];
      ++total;
      for (const std::string& each : kEarlyAlarms) here += each == told.event.key.alarm ? 1 : 0;
    }
    early += here;
    worst = std::max(worst, here);
  }
  const double per_21 = 21.0 * early / (static_cast<double>(cabinets) * days);
  std::cout << "{\"quiet\": {\"cabinets\": " << cabinets << ", \"days\": " << days
            << ", \"door_minutes_a_day\": " << door << ", \"raised\": " << total
            << ", \"early_raised\": " << early << ", \"early_per_cabinet_and_21_days\": " << per_21
            << ", \"early_most_in_one_cabinet\": " << worst << ", \"by_rule\": {";
  bool first = true;
  for (const auto& [alarm, count] : rings) {
    std::cout << (first ? "" : ", ") << "\"" << alarm << "\": " << count;
    first = false;
  }
  std::cout << "}}}\n";
  return 0;
}

}  // namespace
}  // namespace clutchward::early

int main(int argc, char** argv) {
  using namespace clutchward::early;
  const std::string what = argc > 1 ? argv[1] : "";
  if (what == "faults" && argc == 3) return faults(PROJECT_ROOT, std::atoi(argv[2]));
  if (what == "quiet" && (argc == 4 || argc == 5))
    return quiet(PROJECT_ROOT, std::atoi(argv[2]), std::atoi(argv[3]),
                 argc == 5 ? std::atoi(argv[4]) : 0);
  if (what == "nab" && argc == 3) return nab(argv[2]);
  std::cerr << "usage: quality faults SEEDS | quiet CABINETS DAYS [DOOR_MINUTES] | nab FOLDER\n";
  return 64;
}
