// Values as trees of text and back. Every reader takes a tree of any shape: the state may have been
// cut short or edited by hand.
#include "notification/kept.h"

#include <charconv>
#include <limits>

namespace clutchward::kept {
namespace {

std::optional<Milli> milli(const Tree& tree, std::string_view key) {
  if (tree.find(key) == nullptr) return std::nullopt;
  const std::int64_t value = number(tree, key, std::numeric_limits<std::int64_t>::min());
  if (value < std::numeric_limits<Milli>::min() || value > std::numeric_limits<Milli>::max())
    return std::nullopt;
  return static_cast<Milli>(value);
}

}  // namespace

Tree number(std::int64_t value) { return Tree(std::to_string(value)); }

std::int64_t number(const Tree& tree, std::string_view key, std::int64_t otherwise) {
  const std::string_view digits = tree.get(key);
  std::int64_t value = 0;
  const auto [end, error] = std::from_chars(digits.data(), digits.data() + digits.size(), value);
  const bool whole = error == std::errc() && end == digits.data() + digits.size();
  return whole && !digits.empty() ? value : otherwise;
}

std::optional<Wall> wall(const Tree& tree, std::string_view key) {
  return parse_rfc3339(tree.get(key));
}

std::optional<Steady> steady(const Tree& tree, std::string_view key, const Clocks& clocks) {
  const auto time = wall(tree, key);
  return time ? std::optional(clocks.steady_of(*time)) : std::nullopt;
}

bool yes(const Tree& tree, std::string_view key) { return tree.get(key) == "yes"; }

std::string text(const Tree& tree, std::string_view key) { return std::string(tree.get(key)); }

const std::vector<std::pair<std::string, Tree>>& items(const Tree& tree, std::string_view key) {
  static const std::vector<std::pair<std::string, Tree>> none;
  const Tree* member = tree.find(key);
  return member != nullptr && member->kind == Tree::Kind::list ? member->members : none;
}

Tree strings(const std::vector<std::string>& texts) {
  Tree list = Tree::list();
  for (const std::string& one : texts) list.add(Tree(one));
  return list;
}

std::vector<std::string> strings(const Tree& tree, std::string_view key) {
  std::vector<std::string> texts;
  for (const auto& [unused, item] : items(tree, key)) texts.push_back(item.text);
  return texts;
}

Tree tree_of(const AlarmKey& key) {
  Tree tree = Tree::map();
  tree.add("cabinet", Tree(key.cabinet));
  tree.add("batch", Tree(key.batch));
  tree.add("alarm", Tree(key.alarm));
  return tree;
}

AlarmKey key_of(const Tree& tree) {
  return {text(tree, "cabinet"), text(tree, "batch"), text(tree, "alarm")};
}

Tree tree_of(const AlarmEvent& event) {
  Tree tree = tree_of(event.key);
  tree.add("at", Tree(to_rfc3339(event.at)));
  tree.add("event", Tree(std::string(kEventNames[static_cast<std::size_t>(event.kind)])));
  if (event.value) tree.add("value", number(*event.value));
  if (event.limit) tree.add("limit", number(*event.limit));
  if (event.worst) tree.add("worst", number(*event.worst));
  if (event.by) tree.add("by", Tree(*event.by));
  return tree;
}

std::optional<AlarmEvent> event_of(const Tree& tree) {
  const auto at = wall(tree, "at");
  const auto kind = word(tree, "event", kEventNames);
  if (!at || !kind) return std::nullopt;
  AlarmEvent event;
  event.at = *at;
  event.key = key_of(tree);
  event.kind = static_cast<EventKind>(*kind);
  event.value = milli(tree, "value");
  event.limit = milli(tree, "limit");
  event.worst = milli(tree, "worst");
  if (tree.find("by") != nullptr) event.by = text(tree, "by");
  return event;
}

Tree tree_of(const std::vector<AlarmEvent>& events) {
  Tree list = Tree::list();
  for (const AlarmEvent& event : events) list.add(tree_of(event));
  return list;
}

std::vector<AlarmEvent> events_of(const Tree& tree, std::string_view key) {
  std::vector<AlarmEvent> events;
  for (const auto& [unused, item] : items(tree, key))
    if (auto event = event_of(item)) events.push_back(std::move(*event));
  return events;
}

}  // namespace clutchward::kept
