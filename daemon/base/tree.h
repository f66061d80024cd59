// State as a tree of text: what a room wants kept, without knowing how or where. store/ writes it
// as YAML and reads it back; every scalar is text, so nothing is lost on the way.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace clutchward {

struct Tree {
  enum class Kind : unsigned char { scalar, list, map };
  Kind kind = Kind::scalar;
  std::string text;                                   // scalar
  std::vector<std::pair<std::string, Tree>> members;  // map (in order); list (keys empty)

  Tree() = default;
  Tree(std::string scalar) : text(std::move(scalar)) {}  // NOLINT: implicit by design
  Tree(const char* scalar) : text(scalar) {}             // NOLINT: implicit by design
  static Tree map() {
    Tree t;
    t.kind = Kind::map;
    return t;
  }
  static Tree list() {
    Tree t;
    t.kind = Kind::list;
    return t;
  }

  // Map: adds a member (keys are not checked for being new). List: adds an item.
  Tree& add(std::string key, Tree value) {
    members.emplace_back(std::move(key), std::move(value));
    return *this;
  }
  Tree& add(Tree item) {
    members.emplace_back(std::string(), std::move(item));
    return *this;
  }
  // The member of that name, or none.
  const Tree* find(std::string_view key) const {
    for (const auto& [name, value] : members)
      if (name == key) return &value;
    return nullptr;
  }
  // The scalar text of the member of that name, or `otherwise`.
  std::string_view get(std::string_view key, std::string_view otherwise = {}) const {
    const Tree* member = find(key);
    return member != nullptr && member->kind == Kind::scalar ? std::string_view(member->text)
                                                             : otherwise;
  }
  bool operator==(const Tree&) const = default;
};

// One thing kept under one key ("cabinets/setter-a", "outbox/2026..."), or its end.
struct Change {
  std::string key;
  std::optional<Tree> value;  // none: no longer kept
  bool operator==(const Change&) const = default;
};

}  // namespace clutchward
