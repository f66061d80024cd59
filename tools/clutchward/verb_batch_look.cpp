// `clutchward batch list|show|mass`: what was done with a batch and how its eggs lose weight.
#include <sysexits.h>

#include <cmath>
#include <iostream>
#include <nlohmann/json.hpp>

#include "base/text.h"
#include "batch_look.h"
#include "batch_words.h"
#include "incubation/mass_loss.h"
#include "picture_reader.h"
#include "screen.h"
#include "talk.h"
#include "wire/record_json.h"

namespace clutchward {
namespace {

using Json = nlohmann::ordered_json;

struct LookArguments {
  TalkOptions talk;
  std::string batch;
  bool all = false;
  std::optional<double> humidity;
};

// The daemon's JSON, or a sentence and an exit code.
struct Fetched {
  Json json;
  std::string why;
  int code = EX_OK;
};

Fetched fetch(const LookArguments& arguments, const std::string& path) {
  const ControlClient client(state_directory(arguments.talk.state));
  const auto answer = client.get(path);
  if (!answer) return {{}, answer.why(), EX_UNAVAILABLE};
  if (answer->status == 404)
    return {{}, answer->body.substr(0, answer->body.find('\n')), EX_DATAERR};
  Json json = Json::parse(answer->body, nullptr, false);
  if (answer->status != 200 || json.is_discarded())
    return {{}, "the daemon answered " + std::to_string(answer->status), EX_UNAVAILABLE};
  return {std::move(json), "", EX_OK};
}

// Among all batches, ended ones too: the one of that id, or the only one that begins so.
Fetched fetch_batch(const LookArguments& arguments) {
  Fetched all = fetch(arguments, "/api/batches/all");
  if (all.code != EX_OK) return all;
  std::vector<std::string> ids;
  const Json* found = nullptr;
  int fitting = 0;
  for (const Json& each : all.json) {
    const std::string id = each.value("batch", "");
    ids.push_back(id);
    if (id == arguments.batch) return {each, "", EX_OK};
    if (!id.starts_with(arguments.batch)) continue;
    found = &each;
    ++fitting;
  }
  if (fitting == 1) return {*found, "", EX_OK};
  if (fitting > 1)
    return {{},
            "\"" + printable(arguments.batch, 64) + "\" begins several batches; write more of it",
            EX_USAGE};
  const std::string near = nearest_word(arguments.batch, ids);
  return {{},
          "no batch \"" + printable(arguments.batch, 64) + "\"" +
              (near.empty() ? "" : "; did you mean \"" + near + "\"?"),
          EX_DATAERR};
}

// The site's clock and present; not known where the daemon does not say.
WatchView site_of(const LookArguments& arguments) {
  const auto answer = ControlClient(state_directory(arguments.talk.state)).get("/api/watch");
  const auto watch = answer ? read_watch(answer->body) : Result<WatchView>(Refusal{answer.why()});
  return watch ? *watch : WatchView{};
}

int run_list(const LookArguments& arguments) {
  const Fetched all = fetch(arguments, arguments.all ? "/api/batches/all" : "/api/batches");
  if (all.code != EX_OK) return complain(all.why, all.code);
  if (arguments.talk.json) {
    std::cout << all.json.dump() << '\n';
    return EX_OK;
  }
  const WatchView watch = site_of(arguments);
  if (all.json.empty()) std::cout << "No batches.\n";
  for (const Json& batch : all.json) std::cout << BatchWords(watch).list_line(batch);
  return EX_OK;
}

int run_show(const LookArguments& arguments) {
  const Fetched found = fetch_batch(arguments);
  if (found.code != EX_OK) return complain(found.why, found.code);
  if (arguments.talk.json) {
    std::cout << found.json.dump() << '\n';
    return EX_OK;
  }
  const WatchView watch = site_of(arguments);
  std::cout << BatchWords(watch).shown(found.json);
  return EX_OK;
}

// The weighings that can have been so: one that a later one contradicts (it was said to be right)
// is left out.
std::vector<EggWeighing> weighings_of(const Json& batch, std::size_t& left_out) {
  const auto set_at = parse_rfc3339(batch.value("set_at", ""));
  std::vector<EggWeighing> all;
  for (const Json& each : items_in(batch, "weighings")) {
    const auto at = parse_rfc3339(each.value("at", ""));
    if (!at || !set_at) continue;
    const double day = std::chrono::duration<double, std::ratio<86400>>(*at - *set_at).count();
    const EggWeighing added{std::max(day, 0.0), number_in(each, "grams").value_or(0),
                            static_cast<int>(number_in(each, "eggs").value_or(0))};
    while (!all.empty() && weighing_fault(all, added)) {
      all.pop_back();
      ++left_out;
    }
    all.push_back(added);
  }
  return all;
}

// What the cabinet shows now, where nobody gave a humidity.
std::optional<double> humidity_of(const LookArguments& arguments, const Json& batch) {
  if (arguments.humidity) return arguments.humidity;
  const Fetched cabinet =
      fetch(arguments, "/api/cabinets/" + path_part(batch.value("cabinet", "")));
  return cabinet.code == EX_OK ? number_in(cabinet.json, "humidity") : std::nullopt;
}

struct MassAnswer {
  MassLoss loss;
  WantedLoss wanted;
  std::size_t left_out = 0;
  std::optional<double> humidity;  // now
  std::optional<double> better;    // that would bring it back
  std::string no_humidity;         // why none would
};

Json mass_json(const Json& batch, const MassAnswer& answer) {
  const auto maybe = [](const std::optional<double>& value) {
    return value ? Json(std::round(*value * 1000) / 1000) : Json();
  };
  Json out;
  out["batch"] = batch.value("batch", "");
  out["day"] = maybe(answer.loss.day);
  out["set_mass"] = maybe(answer.loss.set_mass_g);
  out["set_mass_estimated"] = answer.loss.set_mass_estimated;
  out["compared_by_mean"] = answer.loss.compared_by_mean;
  out["left_out"] = answer.left_out;
  out["lost"] = maybe(answer.loss.lost_percent);
  out["line"] = maybe(answer.loss.line_percent);
  out["wanted"] = maybe(answer.wanted.percent);
  out["by_day"] = maybe(answer.wanted.by_day);
  out["daily"] = maybe(answer.loss.daily_percent);
  out["needed_daily"] = maybe(answer.loss.needed_daily_percent);
  out["projected"] = maybe(answer.loss.projected_percent);
  out["humidity"] = maybe(answer.humidity);
  out["humidity_wanted"] = maybe(answer.better);
  return out;
}

void mass_lines(const Json& batch, const MassAnswer& answer) {
  const MassLoss& loss = answer.loss;
  std::cout << text_in(batch, "batch") << ", day " << decimals(loss.day, 1) << ": lost "
            << decimals(loss.lost_percent, 1) << " % of " << decimals(loss.set_mass_g, 1)
            << " g an egg" << (loss.set_mass_estimated ? " (drawn back to day 0)" : "") << '\n'
            << "the line to " << decimals(answer.wanted.percent, 1) << " % on day "
            << decimals(answer.wanted.by_day, 0) << " asks for " << decimals(loss.line_percent, 1)
            << " % by now\n";
  if (loss.projected_percent)
    std::cout << "at the present rate " << decimals(*loss.projected_percent, 1) << " % by day "
              << decimals(answer.wanted.by_day, 0) << '\n';
  if (answer.better)
    std::cout << "from " << decimals(*answer.humidity, 0) << " % humidity to about "
              << decimals(*answer.better, 0)
              << " % would bring it back (supposes the same temperature and shell)\n";
  else if (!answer.no_humidity.empty())
    std::cout << "no humidity is named: " << tame(answer.no_humidity) << '\n';
  if (loss.compared_by_mean)
    std::cout << "means an egg are compared, as if those taken out had been of mean mass\n";
  if (answer.left_out > 0)
    std::cout << answer.left_out << " earlier weighing(s) left out: a later one contradicts them\n";
}

int run_mass(const LookArguments& arguments) {
  const Fetched found = fetch_batch(arguments);
  if (found.code != EX_OK) return complain(found.why, found.code);
  const Json& batch = found.json;
  const Json wanted = batch.value("mass_loss", Json());
  if (!wanted.is_object())
    return complain("the profile of batch \"" + batch.value("batch", "") +
                        "\" says no mass_loss: there is no line to compare with",
                    EX_DATAERR);
  MassAnswer answer;
  answer.wanted = {(wanted.value("from", 0.0) + wanted.value("to", 0.0)) / 2,
                   wanted.value("by_day", 0.0)};
  const auto loss = mass_loss(weighings_of(batch, answer.left_out), answer.wanted);
  if (!loss) return complain(loss.why(), EX_DATAERR);
  answer.loss = *loss;
  answer.humidity = humidity_of(arguments, batch);
  if (!answer.humidity) {
    answer.no_humidity = "the cabinet reports none; give --humidity";
  } else if (loss->daily_percent && loss->needed_daily_percent) {
    const auto better = humidity_for_loss_percent(*answer.humidity, *loss->daily_percent,
                                                  *loss->needed_daily_percent);
    if (better)
      answer.better = *better;
    else
      answer.no_humidity = better.why();
  } else {
    answer.no_humidity =
        "weighings at least three days apart are needed, before the day it counts to";
  }
  if (arguments.talk.json)
    std::cout << mass_json(batch, answer).dump() << '\n';
  else
    mass_lines(batch, answer);
  return EX_OK;
}

}  // namespace

void add_batch_look(CLI::App& batch, Run& run) {
  auto arguments = std::make_shared<LookArguments>();
  auto* list = batch.add_subcommand("list", "Every batch: where it stands and what comes next");
  list->add_flag("--all", arguments->all, "those that have ended, too");
  auto* show = batch.add_subcommand("show", "One batch: what was done with it, and its dates");
  auto* mass = batch.add_subcommand(
      "mass",
      "What the eggs have lost, where that leads, and the humidity that would bring it back");
  mass->add_option("--humidity", arguments->humidity,
                   "relative humidity, percent; the cabinet's, where left out");
  for (auto* verb : {show, mass})
    verb->add_option("batch,--batch", arguments->batch, "the batch, or its unique beginning")
        ->required();
  for (auto* verb : {list, show, mass}) add_talk(*verb, arguments->talk, false);
  list->callback([&run, arguments] { run = [arguments] { return run_list(*arguments); }; });
  show->callback([&run, arguments] { run = [arguments] { return run_show(*arguments); }; });
  mass->callback([&run, arguments] { run = [arguments] { return run_mass(*arguments); }; });
}

}  // namespace clutchward
