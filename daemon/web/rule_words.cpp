// Rules in words and as JSON.
#include "web/rule_words.h"

#include <algorithm>

#include "base/text.h"
#include "web/page_words.h"
#include "web/standing.h"

namespace clutchward {
namespace {

using Json = nlohmann::ordered_json;

Json decimal(Milli value) { return static_cast<double>(value) / 1000; }
Json seconds(Span span) { return static_cast<double>(span.count()) / 1000; }

std::string what_of(Quantity quantity) {
  if (quantity == Quantity::humidity) return "humidity ";
  if (quantity == Quantity::wet_bulb) return "wet bulb ";
  return quantity == Quantity::egg ? "eggs " : "";
}

std::string compared(const RuleInForce& each, const PageWords& words) {
  const Rule& rule = each.rule;
  std::string text = what_of(rule.quantity) + (rule.kind == RuleKind::below ? "below " : "above ");
  if (!each.limit)
    text += "its limit";
  else if (rule.quantity == Quantity::humidity)
    text += milli_text(*each.limit, 0) + " %";
  else
    text += words.temperature(*each.limit);
  if (rule.average > Span{0}) text += ", the mean of " + about(rule.average);
  if (rule.early.confirm > 1)
    text += ", " + std::to_string(rule.early.confirm) + " readings in a row";
  return text;
}

std::string condition_of(const RuleInForce& each, const PageWords& words) {
  const Rule& rule = each.rule;
  switch (rule.kind) {
    case RuleKind::above:
    case RuleKind::below:
      return compared(each, words);
    case RuleKind::silent:
      return "no reading for " + about(rule.after);
    case RuleKind::turning:
      return std::to_string(rule.missed) + (rule.missed == 1 ? " turn" : " turns") +
             " missed in a row";
    case RuleKind::still:
      return "turned although it should lie still";
    case RuleKind::spread:
      return "probes more than " +
             words.temperature(each.limit.value_or(rule.limit.value_or(0)), true) + " apart";
    case RuleKind::broker:
      return "no broker for " + about(rule.after);
    case RuleKind::power:
      return "the machine says that mains is lost";
    case RuleKind::rate:
      return std::string("heading for the ") +
             (rule.early.towards == Towards::low ? "low" : "high") + " limit, to reach it within " +
             about(rule.early.ahead);
    case RuleKind::trend:
      return "slowly drifting by more than " + words.temperature(rule.early.at_least, true);
    case RuleKind::signal:
      return rule.early.signal + (rule.early.bad ? " on or open" : " off or shut");
    case RuleKind::probe:
      return "a probe frozen, jumping or silent beside living ones";
    case RuleKind::all_silent:
      return "all cabinets silent for " + about(rule.after);
    case RuleKind::cooling:
      return "an airing missed, or gone wrong";
    case RuleKind::lid:
      return "no warmer " + about(rule.after) + " after an airing";
  }
  return rule.id;
}

}  // namespace

std::string rule_words(const RuleInForce& each, const WatchView& watch,
                       std::optional<Priority> now) {
  const Rule& rule = each.rule;
  std::string text = condition_of(each, PageWords(watch));
  text += rule.delay > Span{0} ? ", once it has lasted " + about(rule.delay) : ", at once";
  const Priority priority = now.value_or(rule.priority);
  text += "; " + std::string(name_of(priority)) + " priority";
  if (rule.by_third && now) text += " now, by the third of the incubation";
  if (rule.high_after && priority != Priority::high)
    text += ", high after " + about(*rule.high_after);
  if (rule.latch) text += ", to be reset by hand";
  return text;
}

std::string origin_words(const RuleInForce& each) {
  std::string text;
  for (const RuleOrigin& origin : each.from) {
    if (!text.empty()) text += "; ";
    // The lowest layer is the rule itself; those above it are told by what they change.
    if (&origin != &each.from.front()) {
      for (const std::string& key : origin.keys)
        text += (&key == &origin.keys.front() ? "" : ", ") + key;
      text += " from ";
    }
    text += origin.layer;
  }
  return text.empty() ? "" : "From: " + text;
}

Json rule_json(const RuleInForce& each, const WatchView& watch) {
  const Rule& rule = each.rule;
  Json out;
  out["rule"] = rule.id;
  out["batch"] = each.batch.empty() ? Json() : Json(each.batch);
  out["kind"] = name_of(rule.kind);
  out["quantity"] = name_of(rule.quantity);
  out["rings"] = rule_words(each, watch);
  out["limit"] = each.limit ? decimal(*each.limit) : Json();
  out["delay"] = seconds(rule.delay);
  out["priority"] = name_of(rule.priority);
  out["latch"] = rule.latch;
  out["from"] = Json::array();
  for (const RuleOrigin& origin : each.from)
    out["from"].push_back({{"layer", origin.layer}, {"keys", origin.keys}});
  return out;
}

}  // namespace clutchward
