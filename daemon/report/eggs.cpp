// The report's part about the eggs: who they are, what was done with them, what came of them, and
// what others have published beside it.
#include <algorithm>

#include "incubation/hatch.h"
#include "incubation/mass_loss.h"
#include "report/report.h"
#include "wire/record_json.h"

namespace clutchward {
namespace {

struct Benchmark {
  const char* what;
  const char* figure;
  const char* birds;
  const char* source;
};

// As seen in print, but for the last line. One trial each: where a batch stands beside them, not a
// mark to reach.
constexpr Benchmark kBenchmarks[] = {
    {"fertility", "91.28 %", "geese", "Milojevic et al. 2024"},
    {"hatch of fertile", "91.08 %", "geese", "Milojevic et al. 2024"},
    {"hatch of set", "83.14 %", "geese", "Milojevic et al. 2024"},
    {"hatch of fertile", "91.84 %", "hens, turned 24 times a day", "Oliveira et al. 2020"},
    {"dead early", "2.84 % of fertile", "hens, turned 24 times a day", "Oliveira et al. 2020"},
    {"dead late", "3.57 % of fertile", "hens, turned 24 times a day", "Oliveira et al. 2020"},
    {"hatch of fertile", "83 %", "emus, one farm", "Massey University"},
    {"dead early, middle, late", "3-4, 0.5-1, 2-3 % of fertile", "hens",
     "guide values of the trade, from memory: no source seen"},
};

constexpr const char* kCautions[] = {
    "This is no safety device: it tells of heat and cold, it stops neither. Keep a thermostat's "
    "own "
    "cut-out and a thermometer that you trust beside it.",
    "Clean and disinfect the machine between batches; wash your hands before and after handling "
    "eggs or chicks: both carry germs that make people ill.",
    "Where many embryos or chicks die without a cause that you see, think of a disease that must "
    "be "
    "notified: ask a veterinarian or the veterinary authority before you move eggs or birds.",
    "Where the licensed practice of your hatchery or the rules of your country say otherwise, they "
    "hold, and not this page.",
};

double day_of(const BatchRecord& record, Wall at) {
  return std::chrono::duration<double, std::ratio<86400>>(at - record.set_at).count();
}

HatchCounts counts_of(const BatchRecord& record) {
  Fates all = record.outcome;
  for (const Candling& each : record.candlings)
    for (const auto& [fate, eggs] : each.removed) all[fate] += eggs;
  HatchCounts counts;
  counts.set = record.eggs;
  counts.infertile = all[Fate::infertile];
  counts.dead_early = all[Fate::dead_early];
  counts.dead_middle = all[Fate::dead_middle];
  counts.dead_late = all[Fate::dead_late];
  counts.pipped_dead = all[Fate::pipped];
  counts.culled = all[Fate::culled];
  counts.hatched = all[Fate::hatched];
  return counts;
}

void add_hatch(const BatchRecord& record, Json& out) {
  Json& to = out["hatch"];
  if (!record.ended_at || record.outcome.empty()) {
    to = {{"cannot_be_told",
           record.ended_at ? "the batch ended without an outcome" : "the batch has not ended"}};
    return;
  }
  const HatchCounts counts = counts_of(record);
  const auto figures = hatch_figures(counts);
  if (!figures) {
    to = {{"cannot_be_told", figures.why()}};
    return;
  }
  to = {{"set", counts.set},
        {"fertile", figures->fertile},
        {"hatched", counts.hatched},
        {"unaccounted", figures->unaccounted},
        {"fertility_percent", rounded(figures->fertility_percent, 100)},
        {"hatch_of_fertile_percent", nullptr},
        {"hatch_of_set_percent", rounded(figures->hatch_of_set_percent, 100)},
        {"open", figures->unaccounted > 0},
        {"fertility_percent_at_most", nullptr},
        {"hatch_of_fertile_percent_at_least", nullptr},
        {"classes", Json::array()}};
  // Nobody opened those: what is known counts them as infertile, and all of them may have been
  // fertile.
  if (figures->unaccounted > 0) {
    const double most = figures->fertile + figures->unaccounted;
    to["fertility_percent_at_most"] = rounded(100 * most / counts.set, 100);
    to["hatch_of_fertile_percent_at_least"] = rounded(100 * counts.hatched / most, 100);
  }
  const auto& shares = figures->of_fertile;
  if (!shares) return;
  to["hatch_of_fertile_percent"] = rounded(shares->hatched_percent, 100);
  const auto add = [&](const char* what, int eggs, double percent) {
    to["classes"].push_back(
        {{"class", what}, {"eggs", eggs}, {"percent_of_fertile", rounded(percent, 100)}});
  };
  add("dead early", counts.dead_early, shares->dead_early_percent);
  add("dead middle", counts.dead_middle, shares->dead_middle_percent);
  add("dead late", counts.dead_late, shares->dead_late_percent);
  add("pipped, not hatched", counts.pipped_dead, shares->pipped_dead_percent);
  add("culled", counts.culled, shares->culled_percent);
}

void add_mass(const ReportSource& source, Json& out) {
  Json& to = out["mass"];
  to = {{"weighings", Json::array()}};
  const auto wanted_at = source.schedule.find("mass_loss");
  std::vector<EggWeighing> weighings;
  for (const Weighing& each : source.record.weighings)
    if (each.eggs > 0)
      weighings.push_back({std::max(0.0, day_of(source.record, each.at)), each.grams, each.eggs});
  WantedLoss wanted;
  if (wanted_at != source.schedule.end() && wanted_at->is_object()) {
    wanted.percent = (wanted_at->value("from", 0.0) + wanted_at->value("to", 0.0)) / 2;
    wanted.by_day = wanted_at->value("by_day", 0.0);
    to["wanted"] = *wanted_at;
  }
  const auto whole = mass_loss(weighings, wanted);
  for (std::size_t i = 0; i < weighings.size(); ++i) {
    const EggWeighing& each = weighings[i];
    Json line{{"day", rounded(each.day, 10)},
              {"eggs", each.eggs},
              {"grams", rounded(each.mass_g, 10)},
              {"grams_an_egg", rounded(each.mass_g / each.eggs, 100)},
              {"wanted_grams", nullptr},
              {"lost_percent", nullptr},
              {"line_percent", nullptr}};
    const auto so_far = mass_loss(
        {weighings.begin(), weighings.begin() + static_cast<std::ptrdiff_t>(i) + 1}, wanted);
    if (so_far) {
      line["lost_percent"] = rounded(so_far->lost_percent, 100);
      line["line_percent"] = rounded(so_far->line_percent, 100);
    }
    if (whole)
      if (const auto grams = line_mass_g(whole->set_mass_g, wanted, each.day))
        line["wanted_grams"] = rounded(*grams, 100);
    to["weighings"].push_back(line);
  }
  if (!whole) {
    to["cannot_be_told"] = weighings.empty()     ? "nothing was weighed"
                           : wanted.percent <= 0 ? "the profile asks for no loss"
                                                 : whole.why();
    return;
  }
  to["lost_percent"] = rounded(whole->lost_percent, 100);
  to["line_percent"] = rounded(whole->line_percent, 100);
  to["projected_percent"] =
      whole->projected_percent ? Json(rounded(*whole->projected_percent, 100)) : Json();
  to["compared_by_mean"] = whole->compared_by_mean;
}

}  // namespace

namespace {

// An even count of turns a day leaves the eggs on the same side every night (common practice, no
// published source). The first and the last day were not seen whole.
void add_even_days(const std::vector<TurningDay>& days, Json& out) {
  if (days.size() < 3) return;
  int even = 0;
  for (std::size_t i = 1; i + 1 < days.size(); ++i)
    if ((days[i].by_machine + days[i].by_hand) % 2 == 0) ++even;
  out["turning_even_days"] = even;
  if (even == 0) return;
  out["turning_note"] = "On " + std::to_string(even) + " of " + std::to_string(days.size() - 2) +
                        " whole days the turns were an even count: the eggs then lie on the same "
                        "side every night. An odd count changes it.";
}

}  // namespace

void add_eggs(const ReportSource& source, Json& out) {
  const Json record = record_json(source.record);
  for (const char* key : {"candlings", "moves", "corrections", "turning"}) out[key] = record[key];
  out["airings"] = record["coolings"];
  out["weighed"] = record["weighings"];
  add_even_days(source.record.turning, out);
  add_mass(source, out);
  add_hatch(source.record, out);
  out["benchmarks"] = Json::array();
  for (const Benchmark& each : kBenchmarks)
    out["benchmarks"].push_back({{"what", each.what},
                                 {"figure", each.figure},
                                 {"birds", each.birds},
                                 {"source", each.source}});
  out["cautions"] = Json::array();
  for (const char* each : kCautions) out["cautions"].push_back(each);
}

namespace {

std::string name_of_cabinet(const Json& schedule, const std::string& id) {
  const auto cabinets = schedule.find("cabinets");
  if (cabinets == schedule.end() || !cabinets->is_array()) return id;
  for (const Json& each : *cabinets)
    if (each.is_object() && each.value("cabinet", "") == id) return each.value("name", id);
  return id;
}

}  // namespace

Json report_json(const ReportSource& source) {
  const Json record = record_json(source.record);
  Json out;
  for (const char* key : {"batch", "profile", "name", "set_at", "days", "eggs", "eggs_left",
                          "stored_days", "ended_at", "ended_by", "note", "split_from"})
    out[key] = record[key];
  out["site"] = source.schedule.value("site", "");
  out["until"] = to_rfc3339(source.until);
  out["timezone"] = source.schedule.value("timezone", "UTC");
  out["show"] = source.schedule.value("show", "celsius");
  out["cabinets"] = Json::array();
  for (const Stay& each : source.stays)
    out["cabinets"].push_back({{"cabinet", each.cabinet},
                               {"name", name_of_cabinet(source.schedule, each.cabinet)},
                               {"from", to_rfc3339(each.from)},
                               {"to", to_rfc3339(each.to)}});
  out["stages"] = Json::array();
  for (const StageSpan& each : source.stages)
    out["stages"].push_back({{"stage", each.name},
                             {"from", time_text(each.from)},
                             {"to", time_text(each.to)},
                             {"target", rounded(each.target)},
                             {"humidity_from", each.humid_from ? Json(*each.humid_from) : Json()},
                             {"humidity_to", each.humid_to ? Json(*each.humid_to) : Json()}});
  add_heat(source, out);
  add_eggs(source, out);
  add_glance(out);
  return out;
}

}  // namespace clutchward
