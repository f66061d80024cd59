// Reads single values from their text by our own exact grammar: the YAML library would take 010 for
// 8 and yes for true.
#include "config/values.h"

#include <algorithm>
#include <chrono>

#include "config/address.h"
#include "reading/reading.h"

namespace clutchward {

namespace {

// No delay, snooze or hold of this trade is longer; it also keeps sums of spans far from overflow.
constexpr Span kLongest = std::chrono::hours{24 * 366};

bool all_digits(std::string_view text) {
  return !text.empty() &&
         std::all_of(text.begin(), text.end(), [](char c) { return c >= '0' && c <= '9'; });
}

bool has_control(std::string_view text) {
  return std::any_of(text.begin(), text.end(),
                     [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7F; });
}

// Half away from zero.
Milli rounded(std::int64_t numerator, std::int64_t denominator) {
  const std::int64_t half = numerator < 0 ? -denominator / 2 : denominator / 2;
  return static_cast<Milli>((numerator + half) / denominator);
}

// A number with what stands behind it.
struct Measure {
  std::int64_t millionths;
  std::string_view unit;
};

std::optional<Measure> parse_measure(std::string_view text) {
  std::size_t end = text.find_first_not_of("-.0123456789");
  if (end == std::string_view::npos) end = text.size();
  const std::optional<std::int64_t> number = parse_decimal(text.substr(0, end));
  if (!number) return std::nullopt;
  std::string_view unit = text.substr(end);
  while (unit.starts_with(' ')) unit.remove_prefix(1);
  constexpr std::string_view kDegree = "\xC2\xB0";
  if (unit.starts_with(kDegree)) unit.remove_prefix(kDegree.size());
  return Measure{*number, unit};
}

// A temperature as thousandths C; `zero_f` is what 0 C is in Fahrenheit (0 for a difference).
std::optional<Milli> parse_celsius(const Field& field, int zero_f) {
  if (!field.is_word()) return std::nullopt;
  const std::optional<Measure> measure = parse_measure(field.node.text);
  if (!measure) return std::nullopt;
  if (measure->unit.empty() || measure->unit == "C") return rounded(measure->millionths, 1000);
  if (measure->unit != "F") return std::nullopt;
  return rounded((measure->millionths - zero_f * 1'000'000LL) * 5, 9 * 1000);
}

std::string range_text(MilliRange range, const std::string& unit) {
  return milli_exact(range.low) + " to " + milli_exact(range.high) + unit;
}

}  // namespace

std::optional<std::int64_t> parse_decimal(std::string_view text) {
  const bool negative = text.starts_with('-');
  if (negative) text.remove_prefix(1);
  const std::size_t point = text.find('.');
  const std::string_view whole = text.substr(0, point);
  const std::string_view fraction =
      point == std::string_view::npos ? std::string_view() : text.substr(point + 1);
  if (!all_digits(whole) || whole.size() > 7) return std::nullopt;
  if (whole.size() > 1 && whole.starts_with('0')) return std::nullopt;
  if (point != std::string_view::npos && (!all_digits(fraction) || fraction.size() > 6)) {
    return std::nullopt;
  }
  std::int64_t value = 0;
  for (char c : whole) value = value * 10 + (c - '0');
  for (std::size_t i = 0; i < 6; ++i) {
    value = value * 10 + (i < fraction.size() ? fraction[i] - '0' : 0);
  }
  return negative ? -value : value;
}

std::optional<std::string> read_text(const Field& field, const std::string& expected,
                                     std::size_t limit) {
  if (!field.is_word() || field.node.text.empty()) {
    field.fault(expected);
    return std::nullopt;
  }
  if (has_control(field.node.text)) {
    field.fault(expected + " without line breaks and control characters");
    return std::nullopt;
  }
  if (field.node.text.size() > limit) {
    field.refuse(field.path + " has " + std::to_string(field.node.text.size()) +
                 " bytes; expected at most " + std::to_string(limit));
    return std::nullopt;
  }
  return field.node.text;
}

bool check_id(std::string_view id, Place place, const std::string& noun, Faults& faults) {
  if (valid_id(id)) return true;
  faults.add(place, "\"" + printable(id, 60) + "\" cannot be the id of " + noun +
                        "; expected 1 to 64 bytes without blanks, '/', '+' and '#'");
  return false;
}

std::optional<std::string> read_id(const Field& field, const std::string& noun) {
  if (!field.is_word()) {
    field.fault("the id of " + noun);
    return std::nullopt;
  }
  if (!check_id(field.node.text, field.node.place, noun, field.faults)) return std::nullopt;
  return field.node.text;
}

std::optional<bool> read_flag(const Field& field) {
  if (field.is_word() && !field.node.quoted) {
    if (field.node.text == "true") return true;
    if (field.node.text == "false") return false;
  }
  const bool only_quoted =
      field.is_word() && (field.node.text == "true" || field.node.text == "false");
  field.fault(only_quoted ? "true or false without quotes" : "true or false");
  return std::nullopt;
}

std::optional<int> read_whole(const Field& field, int low, int high) {
  const std::string expected =
      "a whole number from " + std::to_string(low) + " to " + std::to_string(high);
  if (field.is_word() && !field.node.quoted && field.node.text.find('.') == std::string::npos) {
    const std::optional<std::int64_t> number = parse_decimal(field.node.text);
    if (number && *number / 1'000'000 >= low && *number / 1'000'000 <= high) {
      return static_cast<int>(*number / 1'000'000);
    }
  }
  const bool only_quoted = field.is_word() && field.node.quoted && all_digits(field.node.text);
  field.fault(expected + (only_quoted ? " without quotes" : ""));
  return std::nullopt;
}

std::optional<std::int64_t> read_days(const Field& field) {
  if (field.is_word() && !field.node.quoted) {
    const std::optional<std::int64_t> number = parse_decimal(field.node.text);
    if (number && *number >= 0 && *number <= 366 * 1'000'000LL) return number;
  }
  field.fault("a number of days from 0 to 366, such as 18 or 17.5");
  return std::nullopt;
}

std::optional<std::size_t> read_choice(const Field& field, const std::vector<std::string>& words) {
  if (field.is_word()) {
    const auto found = std::find(words.begin(), words.end(), field.node.text);
    if (found != words.end()) return static_cast<std::size_t>(found - words.begin());
    field.fault(one_of(words) + field.faults.did_you_mean(field.node.text, words));
  } else {
    field.fault(one_of(words));
  }
  return std::nullopt;
}

std::string read_url(const Field& field, const std::vector<std::string>& schemes, bool path) {
  const std::string expected =
      field.is_word() ? url_fault(field.node.text, schemes, path) : url_fault("", schemes, path);
  if (expected.empty()) return field.node.text;
  if (field.is_word() && field.node.text.find('@') != std::string::npos) {
    field.refuse(field.path + " cannot stand so; expected " + expected);
  } else {
    field.fault(expected);
  }
  return "";
}

std::optional<Span> read_span(const Field& field, Zero zero) {
  const std::string expected = zero == Zero::allowed ? "a span such as 45min, 1h 30min or 0s"
                                                     : "a span above 0, such as 45min or 1h 30min";
  const std::optional<Span> span =
      field.is_word() ? parse_span(field.node.text) : std::optional<Span>();
  if (!span || (zero == Zero::refused && *span == Span{0})) {
    field.fault(expected);
    return std::nullopt;
  }
  if (*span > kLongest) {
    field.fault("a span of at most 366 days");
    return std::nullopt;
  }
  return span;
}

std::optional<SpanOrOff> read_span_or_off(const Field& field) {
  if (field.is_off()) return SpanOrOff{std::nullopt};
  const std::optional<Span> span =
      field.is_word() ? parse_span(field.node.text) : std::optional<Span>();
  if (!span || *span == Span{0} || *span > kLongest) {
    field.fault("a span above 0, such as 45min or 1h 30min, or off");
    return std::nullopt;
  }
  return SpanOrOff{span};
}

std::optional<Milli> read_temperature(const Field& field) {
  const std::optional<Milli> value = parse_celsius(field, 32);
  if (!value) {
    field.fault("a temperature such as 37.5, \"37.5 C\" or \"99.5 F\"");
    return std::nullopt;
  }
  const PlausibleRange plausible = plausible_range(Quantity::temperature);
  if (*value >= plausible.low && *value <= plausible.high) return value;
  const bool bare = field.node.text.find_first_of("CF") == std::string::npos;
  const std::string hint =
      bare && *value > plausible.high
          ? " (for Fahrenheit write \"" + printable(field.node.text, 20) + " F\")"
          : "";
  field.fault("a temperature from " + range_text({plausible.low, plausible.high}, " C") + hint);
  return std::nullopt;
}

std::optional<Milli> read_difference(const Field& field, MilliRange range) {
  const std::optional<Milli> value = parse_celsius(field, 0);
  if (!value) {
    field.fault("a difference such as 0.5, \"0.5 C\" or \"0.9 F\"");
    return std::nullopt;
  }
  if (*value >= range.low && *value <= range.high) return value;
  field.fault("a difference from " + range_text(range, " C"));
  return std::nullopt;
}

std::optional<Milli> read_percent(const Field& field, MilliRange range) {
  if (field.is_word()) {
    const std::optional<Measure> measure = parse_measure(field.node.text);
    if (measure && (measure->unit.empty() || measure->unit == "%")) {
      const Milli value = rounded(measure->millionths, 1000);
      if (value >= range.low && value <= range.high) return value;
    }
  }
  field.fault("percent from " + range_text(range, " %") + ", such as 65 or \"65 %\"");
  return std::nullopt;
}

}  // namespace clutchward
