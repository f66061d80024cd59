// Text -> a plain tree of words, lists and maps, each with its place, from the part of YAML that a
// configuration needs: one document, plain keys, no anchors, aliases or tags, no key twice. Refuses
// the rest, each with its place, and never lets a library's exception out.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "config/problem.h"

namespace clutchward {

struct YamlMember;

struct YamlNode {
  enum class Kind : unsigned char { nothing, word, list, map, spoilt };  // spoilt: told already
  Kind kind = Kind::nothing;
  bool quoted = false;  // word: it stood in quotes or as a block
  Place place;
  std::string text;                 // word
  std::vector<YamlMember> members;  // map, in order; list, with empty keys
};

struct YamlMember {
  std::string key;
  Place key_place;
  YamlNode node;
};

// The document's root, a node of kind nothing for an empty file, or none where the text is not
// readable as YAML (then `faults` says why). Keys that stand twice and anchors are faults, too, but
// reading goes on, so that all faults are told at once. Limits: limits::kConfigBytes,
// limits::kYamlDepth, limits::kYamlNodes.
std::optional<YamlNode> read_yaml(std::string_view text, Faults& faults);

}  // namespace clutchward
