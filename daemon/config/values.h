// Single values: words, ids, flags, whole numbers, spans, temperatures. Each reader returns the
// value, or reports what was found and what was expected and returns none.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/text.h"
#include "base/time.h"
#include "config/section.h"
#include "rules/rule.h"

namespace clutchward {

// Text for people or other machines: one line, not empty, no control characters, at most `limit`
// bytes. `expected` says what it is ("the name of the site").
std::optional<std::string> read_text(const Field& field, const std::string& expected,
                                     std::size_t limit = 200);

// An id as base/text.h defines it; `noun` says of what ("a cabinet").
std::optional<std::string> read_id(const Field& field, const std::string& noun);
bool check_id(std::string_view id, Place place, const std::string& noun, Faults& faults);

// true or false, unquoted: YAML's other spellings are refused.
std::optional<bool> read_flag(const Field& field);

// A decimal whole number between `low` and `high`, unquoted, without leading zeros.
std::optional<int> read_whole(const Field& field, int low, int high);

// A decimal number of days between 0 and a year, in millionths of a day.
std::optional<std::int64_t> read_days(const Field& field);

// The index of the word in `words`.
std::optional<std::size_t> read_choice(const Field& field, const std::vector<std::string>& words);

// A URL as address.h checks it; "" where it is none. One that may hold a password is not shown.
std::string read_url(const Field& field, const std::vector<std::string>& schemes, bool path);

enum class Zero : bool { refused, allowed };
// A span of at most a year.
std::optional<Span> read_span(const Field& field, Zero zero);
std::optional<SpanOrOff> read_span_or_off(const Field& field);

struct MilliRange {
  Milli low;
  Milli high;  // both inside
};
// An absolute temperature in thousandths of a degree Celsius, inside what a probe may say
// (plausible_range); "99.5 F" is converted, no unit is Celsius. Exact to the thousandth, rounded
// half away from zero.
std::optional<Milli> read_temperature(const Field& field);
// A difference of temperatures ("3.6 F" is scaled by 5/9 only), `range` in thousandths C.
std::optional<Milli> read_difference(const Field& field, MilliRange range);
// Percent relative humidity in thousandths, "65" or "65 %".
std::optional<Milli> read_percent(const Field& field, MilliRange range);

// A decimal number (no exponent, no leading zeros or plus, at most 7 digits before and 6 behind the
// point) in millionths: "37.5" -> 37500000. None for anything else.
std::optional<std::int64_t> parse_decimal(std::string_view text);

}  // namespace clutchward
