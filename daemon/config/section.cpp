// Finds values by name and words the faults that every map and list can have.
#include "config/section.h"

#include <algorithm>
#include <utility>

#include "base/text.h"

namespace clutchward {

namespace {

// Enough to recognise a value by, short enough for one line.
constexpr std::size_t kShown = 60;

// Keys that would put a secret into the configuration, and the key that names a file instead. Their
// values are never shown.
std::string_view file_key_for(std::string_view key) {
  if (key == "password") return "password_file";
  if (key == "secret") return "secret_file";
  return {};
}

}  // namespace

std::string one_of(const std::vector<std::string>& words) {
  std::string text;
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (i > 0) text += i + 1 == words.size() ? " or " : ", ";
    text += words[i];
  }
  return text;
}

std::string Field::found() const {
  switch (node.kind) {
    case YamlNode::Kind::word:
      return "\"" + printable(node.text, kShown) + "\"";
    case YamlNode::Kind::list:
      return "a list";
    case YamlNode::Kind::map:
      return "a map";
    default:
      return "nothing";
  }
}

void Field::fault(const std::string& expected) const {
  if (node.kind == YamlNode::Kind::spoilt) return;
  const std::string name = path.empty() ? "the file" : path;
  if (node.kind == YamlNode::Kind::nothing) {
    refuse(name + " has no value; expected " + expected);
  } else {
    refuse(name + " is " + found() + "; expected " + expected);
  }
}

std::string Field::path_of(std::string_view key) const {
  return (path.empty() ? "" : path + ".") + printable(key, kShown);
}

std::vector<Field> Field::items(const std::string& expected) const {
  std::vector<Field> items;
  if (node.kind != YamlNode::Kind::list) {
    fault(expected);
    return items;
  }
  for (const YamlMember& member : node.members) {
    items.push_back({member.node, path + "[" + std::to_string(items.size() + 1) + "]", faults});
  }
  return items;
}

std::vector<Field::Named> Field::entries(const std::string& expected) const {
  std::vector<Named> entries;
  if (node.kind != YamlNode::Kind::map) {
    fault(expected);
    return entries;
  }
  for (const YamlMember& member : node.members) {
    entries.push_back({member.key, member.key_place, {member.node, path_of(member.key), faults}});
  }
  return entries;
}

Section::Section(const Field& field, std::vector<std::string> keys) : field_(field) {
  if (field.node.kind != YamlNode::Kind::map) {
    field_.fault("a map with keys such as " +
                 one_of({keys.begin(), keys.begin() + std::min<std::size_t>(keys.size(), 2)}));
    return;
  }
  const std::string where = field.path.empty() ? "" : " in " + field.path;
  for (const YamlMember& member : field.node.members) {
    if (std::find(keys.begin(), keys.end(), member.key) != keys.end()) continue;
    const std::string unknown = "unknown key \"" + printable(member.key, kShown) + "\"" + where;
    const std::string_view file_key = file_key_for(member.key);
    if (!file_key.empty() && std::find(keys.begin(), keys.end(), file_key) != keys.end()) {
      field_.faults.add(member.key_place,
                        field_.path_of(member.key) +
                            " would stand here for all to read; write it into a file and give its "
                            "name as " +
                            std::string(file_key));
      continue;
    }
    std::string hint = field_.faults.did_you_mean(member.key, keys);
    if (hint.empty()) hint = "; expected " + one_of(keys);
    field_.faults.add(member.key_place, unknown + hint);
  }
}

const YamlMember* Section::member(std::string_view key) const {
  if (field_.node.kind != YamlNode::Kind::map) return nullptr;
  for (const YamlMember& member : field_.node.members) {
    if (member.key == key) return &member;
  }
  return nullptr;
}

std::optional<Field> Section::find(std::string_view key) const {
  const YamlMember* found = member(key);
  if (found == nullptr) return std::nullopt;
  return Field{found->node, path(key), field_.faults};
}

std::optional<Field> Section::need(std::string_view key, const std::string& expected) const {
  std::optional<Field> field = find(key);
  if (!field && *this) field_.refuse(path(key) + " is missing; expected " + expected);
  return field;
}

Place Section::place(std::string_view key) const {
  const YamlMember* found = member(key);
  return found == nullptr ? field_.node.place : found->key_place;
}

}  // namespace clutchward
