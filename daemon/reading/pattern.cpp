// Topic patterns: their faults as sentences, their MQTT filters, and what a topic says. Matching
// follows MQTT 3.1.1 section 4.7; it is asked once for a topic, at first sight, and is not tuned.
#include "reading/pattern.h"

#include <algorithm>

#include "base/limits.h"
#include "reading/pointer.h"

namespace clutchward {
namespace {

constexpr std::string_view kCabinet = "{cabinet}";
constexpr std::string_view kProbe = "{probe}";
constexpr std::string_view kMain = "main";

// Takes the first level off `rest`; false once all are taken. An empty level is a level, so the end
// needs a mark of its own.
struct Levels {
  std::string_view rest;
  bool done = false;

  bool next(std::string_view& level) {
    if (done) return false;
    const std::size_t slash = rest.find('/');
    level = rest.substr(0, slash);
    done = slash == std::string_view::npos;
    if (!done) rest.remove_prefix(slash + 1);
    return true;
  }
};

std::string quoted(std::string_view text) { return "\"" + printable(text) + "\""; }

// Why one level cannot work, or "".
std::string level_fault(std::string_view level, bool last) {
  if (level == kCabinet || level == kProbe || level == "+") return {};
  if (level == "#")
    return last ? std::string()
                : "'#' stands before the end of the topic; expected it as the last level only";
  if (level.find_first_of("{}") != std::string_view::npos)
    return "the level " + quoted(level) +
           " is no known name; expected {cabinet}, {probe} or a word without braces";
  if (level.find_first_of("+#") != std::string_view::npos)
    return "the level " + quoted(level) +
           " mixes a wildcard with a word; expected '+' or '#' as a whole level";
  return {};
}

std::string topic_fault(const TopicPattern& pattern) {
  const std::string_view topic = pattern.topic;
  if (topic.empty())
    return "the topic is empty; expected levels such as farm/{cabinet}/{probe}/temperature";
  if (topic.size() > limits::kTopicBytes)
    return "the topic has " + std::to_string(topic.size()) + " bytes; expected at most " +
           std::to_string(limits::kTopicBytes);
  const bool control = std::any_of(topic.begin(), topic.end(), [](char c) {
    return static_cast<unsigned char>(c) < 0x20 || c == 0x7F;
  });
  if (control || !valid_utf8(topic))
    return "the topic " + quoted(topic) +
           " holds a control character or is not UTF-8; expected plain text";
  int cabinets = 0;
  int probes = 0;
  Levels levels{topic};
  for (std::string_view level; levels.next(level);) {
    if (std::string fault = level_fault(level, levels.done); !fault.empty()) return fault;
    cabinets += level == kCabinet ? 1 : 0;
    probes += level == kProbe ? 1 : 0;
  }
  if (cabinets > 1 || probes > 1)
    return "the topic names " + std::string(cabinets > 1 ? kCabinet : kProbe) +
           " twice; expected it at one level";
  if (cabinets == 0 && pattern.cabinet.empty())
    return "the topic " + quoted(topic) +
           " names no cabinet; expected a level {cabinet} or the key cabinet beside it";
  if (cabinets == 1 && !pattern.cabinet.empty())
    return "the cabinet is given twice, by {cabinet} in the topic and as " +
           quoted(pattern.cabinet) + "; expected one of the two";
  if (probes == 1 && !pattern.probe.empty())
    return "the probe is given twice, by {probe} in the topic and as " + quoted(pattern.probe) +
           "; expected one of the two";
  return {};
}

std::string id_fault(std::string_view what, std::string_view id) {
  if (id.empty() || valid_id(id)) return {};
  return "the " + std::string(what) + " " + quoted(id) +
         " is no id; expected 1 to 64 bytes without blanks, control characters, '/', '+' and '#'";
}

std::string unit_fault(Quantity quantity, Unit unit) {
  if (unit == Unit::own || is_degrees(quantity)) return {};
  return "a unit of temperature is given for " + std::string(name_of(quantity)) + "; expected none";
}

std::string field_fault(const FieldPattern& field) {
  if (!valid_pointer(field.pointer))
    return "the pointer " + quoted(field.pointer) +
           " is no JSON pointer; expected \"\" or keys behind slashes such as /outer/temperature, "
           "with '~' written ~0 and '/' written ~1";
  if (std::string fault = id_fault("probe", field.probe); !fault.empty()) return fault;
  return unit_fault(field.quantity, field.unit);
}

}  // namespace

std::string topic_filter(const TopicPattern& pattern) {
  std::string filter;
  Levels levels{pattern.topic};
  bool first = true;
  for (std::string_view level; levels.next(level); first = false) {
    if (!first) filter += '/';
    filter += level == kCabinet || level == kProbe ? std::string_view("+") : level;
  }
  return filter;
}

std::string pattern_fault(const TopicPattern& pattern) {
  if (std::string fault = topic_fault(pattern); !fault.empty()) return fault;
  if (std::string fault = id_fault("cabinet", pattern.cabinet); !fault.empty()) return fault;
  if (std::string fault = id_fault("probe", pattern.probe); !fault.empty()) return fault;
  if (pattern.quantity && !pattern.fields.empty())
    return "both a quantity and fields are given; expected quantity for a plain payload or fields "
           "for JSON";
  if (!pattern.quantity && pattern.fields.empty())
    return "neither a quantity nor fields are given; expected quantity for a plain payload or "
           "fields for JSON";
  if (pattern.quantity) return unit_fault(*pattern.quantity, pattern.unit);
  for (const FieldPattern& field : pattern.fields)
    if (std::string fault = field_fault(field); !fault.empty()) return fault;
  return {};
}

std::optional<TopicMatch> match(const TopicPattern& pattern, std::string_view topic) {
  if (topic.empty() || topic.size() > limits::kTopicBytes || pattern.topic.empty())
    return std::nullopt;
  // A broker never delivers such a topic.
  if (topic.find_first_of(std::string_view("+#\0", 3)) != std::string_view::npos)
    return std::nullopt;
  TopicMatch found{pattern.cabinet, pattern.probe.empty() ? kMain : pattern.probe};
  Levels wanted{pattern.topic};
  Levels levels{topic};
  bool first = true;
  for (std::string_view want; wanted.next(want); first = false) {
    const bool wildcard = want == "+" || want == "#" || want == kCabinet || want == kProbe;
    if (first && wildcard && topic.front() == '$') return std::nullopt;
    if (want == "#") return found;  // no level at all included: "a/#" matches "a"
    std::string_view level;
    if (!levels.next(level)) return std::nullopt;
    if (!wildcard && want != level) return std::nullopt;
    if (want == kCabinet || want == kProbe) {
      if (found.unfit.empty() && !valid_id(level)) found.unfit = level.empty() ? " " : level;
      (want == kCabinet ? found.cabinet : found.probe) = level;
    }
  }
  return levels.done ? std::optional(found) : std::nullopt;
}

}  // namespace clutchward
