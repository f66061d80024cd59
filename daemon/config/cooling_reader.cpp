// Reads airings and refuses those that cannot be told apart.
#include "config/cooling_reader.h"

#include <algorithm>

#include "config/values.h"

namespace clutchward {
namespace {

using std::chrono::hours;

// "Cooling once or twice daily" is what the trade does; eight leaves room for the odd one.
constexpr std::size_t kWindows = 8;
constexpr Span kLongestWindow = hours{12};

std::optional<CoolingWindow> read_window(const Field& field) {
  const Section section(field, {"at", "for", "due_by"});
  if (!section) return std::nullopt;
  const bool by_hand = section.has("due_by");
  if (by_hand && section.has("at")) {
    field.faults.add(section.place("due_by"),
                     field.path +
                         " has at and due_by; expected one of them: a window opens at its hour, an "
                         "airing by hand is due by one");
    return std::nullopt;
  }
  const auto hour_field =
      by_hand ? section.find("due_by") : section.need("at", "a time of day such as \"10:00\"");
  const auto for_field = section.need("for", "a span such as 30min");
  const auto hour = hour_field ? read_time_of_day(*hour_field) : std::nullopt;
  const auto lasts = for_field ? read_span(*for_field, Zero::refused) : std::nullopt;
  if (!hour || !lasts) return std::nullopt;
  if (*lasts > kLongestWindow) {
    for_field->fault("at most 12h");
    return std::nullopt;
  }
  CoolingWindow window;
  window.lasts = *lasts;
  if (by_hand)
    window.due_by = *hour;
  else
    window.at = *hour;
  return window;
}

// Whether `b` opens while `a` is open, over midnight, too.
bool opens_within(const CoolingWindow& a, const CoolingWindow& b) {
  const Span since = (b.at - a.at + hours{24}) % hours{24};
  return since < a.lasts;
}

std::string clash(const CoolingWindow& a, const CoolingWindow& b) {
  if (a.due_by || b.due_by)
    return a.due_by == b.due_by ? " is due by the same hour as another; expected hours of their own"
                                : "";
  return opens_within(a, b) || opens_within(b, a)
             ? " overlaps another window; expected windows apart from each other"
             : "";
}

}  // namespace

std::optional<Span> read_time_of_day(const Field& field) {
  const std::string& text = field.node.text;
  const auto digit = [&](std::size_t at) { return text[at] >= '0' && text[at] <= '9'; };
  if (field.is_word() && text.size() == 5 && text[2] == ':' && digit(0) && digit(1) && digit(3) &&
      digit(4)) {
    const int hour = (text[0] - '0') * 10 + text[1] - '0';
    const int minute = (text[3] - '0') * 10 + text[4] - '0';
    if (hour < 24 && minute < 60) return hours{hour} + std::chrono::minutes{minute};
  }
  field.fault("a time of day from \"00:00\" to \"23:59\"");
  return std::nullopt;
}

std::vector<CoolingWindow> read_cooling(const Field& field) {
  std::vector<CoolingWindow> windows;
  if (field.is_off()) return windows;
  std::vector<Field> fields;
  if (field.node.kind == YamlNode::Kind::map) {
    fields.push_back(field);
  } else {
    fields = field.items("a window such as { at: \"10:00\", for: 30min }, or a list of them");
  }
  if (fields.size() > kWindows) {
    field.refuse(field.path + " has " + std::to_string(fields.size()) +
                 " windows; expected at most " + std::to_string(kWindows));
    return windows;
  }
  for (const Field& item : fields) {
    const std::optional<CoolingWindow> window = read_window(item);
    if (!window) continue;
    std::string why;
    for (const CoolingWindow& other : windows)
      if (why.empty()) why = clash(other, *window);
    if (!why.empty()) {
      item.refuse(item.path + why);
      continue;
    }
    windows.push_back(*window);
  }
  return windows;
}

}  // namespace clutchward
