// Topic patterns: how messages of cabinets that nobody listed find their cabinet, probe and
// decoder. A pattern is an MQTT topic filter whose levels may be named.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "reading/reading.h"

namespace clutchward {

// One value to take out of a JSON payload.
struct FieldPattern {
  std::string pointer;  // RFC 6901
  std::string probe;    // "" : the topic's {probe}, else "main"
  Quantity quantity = Quantity::temperature;
  Unit unit = Unit::own;
  std::string signal{};  // quantity signal: its name
  bool operator==(const FieldPattern&) const = default;
};

struct TopicPattern {
  std::string topic;    // "farm/{cabinet}/{probe}/temperature", '+' and a last '#' allowed
  std::string cabinet;  // fixed cabinet id where the topic names none
  std::string probe;    // fixed probe id where the topic names none; "" : "main"
  std::optional<Quantity> quantity;  // a plain payload, or none where `fields` are given
  Unit unit = Unit::own;
  std::vector<FieldPattern> fields;
  std::string signal{};  // quantity signal: its name
  bool operator==(const TopicPattern&) const = default;
};

// Whose message it is: from the topic's own levels, else the pattern's fixed ids, else probe
// "main". The views point into the topic or the pattern.
struct TopicMatch {
  std::string_view cabinet;
  std::string_view probe;
  std::string_view unfit = {};  // "" : fine; the level that stands where an id should and is none
};

// The MQTT filter of a pattern: named levels become '+'.
std::string topic_filter(const TopicPattern& pattern);

// Why a pattern cannot work ("" where it can): a level that is named twice, no cabinet, '#' before
// the end, an empty topic, a name that is neither {cabinet} nor {probe} nor a plain word, an id
// given both ways, a pointer that is none, a unit that the quantity does not have, nothing to read.
// One sentence, the first fault found.
std::string pattern_fault(const TopicPattern& pattern);

// Matches as MQTT 3.1.1 section 4.7 says (wildcards at the first level do not match topics that
// begin with '$'); levels that would be an invalid id do not match.
std::optional<TopicMatch> match(const TopicPattern& pattern, std::string_view topic);

}  // namespace clutchward
