// One value of the file together with its name ("rules.high.delay"), and one map of known keys:
// what every reader in this room is made of. They report; they never repair or guess.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "config/problem.h"
#include "config/yaml_reader.h"

namespace clutchward {

struct Field {
  const YamlNode& node;
  std::string path;  // "" : the file itself
  Faults& faults;

  // What stands there, for a sentence: "\"10 minuts\"", "a list", "a map".
  std::string found() const;
  // "PATH is FOUND; expected EXPECTED" (or "PATH has no value; expected EXPECTED").
  void fault(const std::string& expected) const;
  // A sentence of one's own at this place.
  void refuse(std::string what) const { faults.add(node.place, std::move(what)); }
  void warn(std::string what) const { faults.warn(node.place, std::move(what)); }

  bool is_word() const { return node.kind == YamlNode::Kind::word; }
  bool is_off() const { return is_word() && node.text == "off"; }

  // The items of a list, or a fault and none. `expected` says of what it is a list.
  std::vector<Field> items(const std::string& expected) const;
  // The members of a map whose keys are the keeper's own names, or a fault and none.
  struct Named;
  std::vector<Named> entries(const std::string& expected) const;
  // "PATH.key", or "key" at the top.
  std::string path_of(std::string_view key) const;
};

struct Field::Named {
  std::string name;
  Place place;  // of the name itself
  Field value;
};

// A map whose keys are fixed. Unknown keys are reported on construction, with the nearest known
// one.
class Section {
 public:
  Section(const Field& field, std::vector<std::string> keys);

  // False where the value was no map: reported, and nothing will be found.
  explicit operator bool() const { return field_.node.kind == YamlNode::Kind::map; }
  const Field& field() const { return field_; }
  std::string path(std::string_view key) const { return field_.path_of(key); }

  bool has(std::string_view key) const { return member(key) != nullptr; }
  std::optional<Field> find(std::string_view key) const;
  // As find; a key that is not there is reported: "PATH is missing; expected EXPECTED".
  std::optional<Field> need(std::string_view key, const std::string& expected) const;
  // The place of a key that is there, for faults about the key itself.
  Place place(std::string_view key) const;

 private:
  const YamlMember* member(std::string_view key) const;

  Field field_;
};

// "a, b or c".
std::string one_of(const std::vector<std::string>& words);

}  // namespace clutchward
