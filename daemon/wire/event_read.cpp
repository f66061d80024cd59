// From JSON to an event; what is not understood is left at its default, or refuses the whole.
#include "wire/event_read.h"

#include <cmath>
#include <nlohmann/json.hpp>

namespace clutchward {
namespace {

using Json = nlohmann::json;

std::string text(const Json& object, const char* key) {
  const auto at = object.find(key);
  return at != object.end() && at->is_string() ? at->get<std::string>() : std::string();
}

std::optional<Milli> number(const Json& object, const char* key) {
  const auto at = object.find(key);
  if (at == object.end() || !at->is_number()) return std::nullopt;
  const double value = at->get<double>() * 1000;
  if (!(std::abs(value) < 1e9)) return std::nullopt;
  return static_cast<Milli>(std::lround(value));
}

template <class Word, class Names>
std::optional<Word> word(const std::string& text, const Names& names) {
  for (std::size_t i = 0; i < names.size(); ++i)
    if (names.at(i) == text) return static_cast<Word>(i);
  return std::nullopt;
}

}  // namespace

std::optional<NotedEvent> parse_event(std::string_view text_of) {
  const Json json = Json::parse(text_of, nullptr, false);
  if (!json.is_object()) return std::nullopt;
  const auto at = parse_rfc3339(text(json, "at"));
  const auto kind = word<EventKind>(text(json, "event"), kEventNames);
  NotedEvent noted;
  noted.event.key = {text(json, "cabinet"), text(json, "batch"), text(json, "alarm")};
  if (!at || !kind || noted.event.key.alarm.empty()) return std::nullopt;
  noted.event.at = *at;
  noted.event.kind = *kind;
  noted.event.value = number(json, "value");
  noted.event.limit = number(json, "limit");
  noted.event.worst = number(json, "worst");
  if (const std::string by = text(json, "by"); !by.empty()) noted.event.by = by;
  noted.kind = word<RuleKind>(text(json, "kind"), kRuleKindNames).value_or(noted.kind);
  for (const Priority each : {Priority::low, Priority::medium, Priority::high})
    if (name_of(each) == text(json, "priority")) noted.priority = each;
  noted.quantity = word<Quantity>(text(json, "quantity"), kQuantityNames).value_or(noted.quantity);
  return noted;
}

}  // namespace clutchward
