// Rules in force: the part of a cabinet's page, and for programs.
#include <algorithm>

#include "base/text.h"
#include "web/cabinet_page.h"
#include "web/handlers.h"
#include "web/page_words.h"
#include "web/rule_words.h"
#include "web/site.h"

namespace clutchward {
namespace {

std::string state_of(const AlarmView& alarm) {
  std::string state(name_of(alarm.state));
  std::replace(state.begin(), state.end(), '_', ' ');
  return state;
}

const AlarmView* alarm_of(const CabinetView& cabinet, const RuleInForce& rule) {
  for (const AlarmView& alarm : cabinet.alarms)
    if (alarm.key.alarm == rule.rule.id && alarm.key.batch == rule.batch) return &alarm;
  return nullptr;
}

}  // namespace

HtmlList rules_data(const Site& site, const CabinetView& cabinet, const WatchView& watch) {
  HtmlList list;
  if (!site.door.rules) return list;
  for (const RuleInForce& rule : site.door.rules(cabinet.id)) {
    const AlarmView* alarm = alarm_of(cabinet, rule);
    HtmlData each = line(
        rule_words(rule, watch, alarm != nullptr ? std::optional(alarm->priority) : std::nullopt));
    put(each, "name", rule.rule.id + (rule.batch.empty() ? "" : " of " + rule.batch));
    put(each, "from", origin_words(rule));
    put(each, "state", alarm != nullptr ? state_of(*alarm) : "");
    list.push_back(std::move(each));
  }
  return list;
}

void get_rules(Site& site, const Request& request, const Visitor&, const Respond& respond) {
  constexpr std::string_view kBefore = "/api/rules/";
  const std::string id = request.path.substr(kBefore.size());
  const auto cabinet = site.door.cabinet(id);
  if (!cabinet) return respond(sentence(404, "no cabinet \"" + printable(id, 64) + "\""));
  const WatchView watch = site.door.watch();
  nlohmann::ordered_json out = nlohmann::ordered_json::array();
  for (const RuleInForce& rule : site.door.rules(id)) {
    auto each = rule_json(rule, watch);
    const AlarmView* alarm = alarm_of(*cabinet, rule);
    each["state"] =
        alarm != nullptr ? nlohmann::ordered_json(name_of(alarm->state)) : nlohmann::ordered_json();
    out.push_back(std::move(each));
  }
  respond({200,
           "application/json",
           out.dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace) + "\n",
           "",
           {},
           {}});
}

}  // namespace clutchward
