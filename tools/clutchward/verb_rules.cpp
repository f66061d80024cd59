// `clutchward rules CABINET`: what watches it now, when each rule rings, and who has said so.
#include <sysexits.h>

#include <iostream>
#include <nlohmann/json.hpp>

#include "choose.h"
#include "screen.h"
#include "talk.h"
#include "verb.h"

namespace clutchward {
namespace {

using Json = nlohmann::ordered_json;

struct RulesArguments {
  TalkOptions talk;
  std::string cabinet;
};

std::string text(const Json& in, const char* key) {
  const auto at = in.find(key);
  return at != in.end() && at->is_string() ? tame(at->get<std::string>()) : "";
}

// "built-in; delay, priority from batch hens-12"
std::string origins(const Json& rule) {
  std::string out;
  const auto from = rule.find("from");
  if (from == rule.end() || !from->is_array()) return out;
  for (const Json& layer : *from) {
    std::string keys;
    // The lowest layer is the rule itself.
    if (!out.empty())
      for (const Json& key : layer.value("keys", Json::array()))
        if (key.is_string()) keys += (keys.empty() ? "" : ", ") + tame(key.get<std::string>());
    out += (out.empty() ? "" : "; ") + keys + (keys.empty() ? "" : " from ") + text(layer, "layer");
  }
  return out;
}

// What is in force now: by the third of the incubation, or once it has lasted, it may be another
// than the rule's own. "" : the rule's own.
std::string priority_now(const Json& rule, const CabinetView& cabinet) {
  for (const AlarmView& alarm : cabinet.alarms)
    if (alarm.key.alarm == text(rule, "rule") && alarm.key.batch == text(rule, "batch") &&
        name_of(alarm.priority) != text(rule, "priority"))
      return std::string(name_of(alarm.priority)) + " priority now";
  return {};
}

void print(const Json& rules, const CabinetView& cabinet) {
  std::string batch = "-";
  for (const Json& rule : rules) {
    if (const std::string its = text(rule, "batch"); its != batch) {
      batch = its;
      std::cout << (batch.empty() ? "the machine" : "batch " + batch) << '\n';
    }
    const std::string name = text(rule, "rule");
    std::cout << "  " << name << std::string(name.size() < 12 ? 12 - name.size() : 1, ' ')
              << text(rule, "rings");
    if (const std::string now = priority_now(rule, cabinet); !now.empty()) std::cout << "; " << now;
    if (const std::string state = text(rule, "state"); !state.empty() && state != "normal")
      std::cout << "  (now " << state << ")";
    std::cout << '\n' << std::string(14, ' ') << "from " << origins(rule) << '\n';
  }
}

CabinetView view_of(const std::string& id, const std::vector<CabinetView>& cabinets) {
  for (const CabinetView& each : cabinets)
    if (each.id == id) return each;
  return {};
}

int run_rules(const RulesArguments& arguments) {
  const ControlClient client(state_directory(arguments.talk.state));
  const auto cabinets = fetch_cabinets(client);
  if (!cabinets) return complain(cabinets.why(), EX_UNAVAILABLE);
  const auto cabinet = choose_cabinet(arguments.cabinet, *cabinets);
  if (!cabinet) return complain(cabinet.why(), EX_USAGE);
  const auto answer = client.get("/api/rules/" + path_part(*cabinet));
  if (!answer) return complain(answer.why(), EX_UNAVAILABLE);
  if (answer->status != 200) return complain(tame(answer->body), EX_DATAERR);
  const Json rules = Json::parse(answer->body, nullptr, false);
  if (!rules.is_array()) return complain("the daemon's answer is no list of rules", EX_PROTOCOL);
  if (arguments.talk.json)
    std::cout << answer->body;
  else
    print(rules, view_of(*cabinet, *cabinets));
  return EX_OK;
}

}  // namespace

void add_rules(CLI::App& app, Run& run) {
  auto* verb =
      app.add_subcommand("rules", "What watches a cabinet now, and where each rule is from");
  auto arguments = std::make_shared<RulesArguments>();
  add_talk(*verb, arguments->talk, false);
  verb->add_option("cabinet", arguments->cabinet, "the cabinet, or the beginning of its name")
      ->required();
  verb->callback([&run, arguments] { run = [arguments] { return run_rules(*arguments); }; });
}

}  // namespace clutchward
