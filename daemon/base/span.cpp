// Spans of time as systemd writes them. It refuses months and years (a "M" beside an "m" is a trap)
// and negative spans; what is shorter than a millisecond is rounded half up.
#include <array>
#include <charconv>

#include "base/time.h"

namespace clutchward {
namespace {

constexpr bool is_digit(char c) { return c >= '0' && c <= '9'; }
constexpr bool is_blank(char c) { return c == ' ' || c == '\t' || c == '\n' || c == '\r'; }

struct UnitName {
  std::string_view name;
  std::int64_t microseconds;
};
constexpr std::int64_t kSecond = 1'000'000;
// The names of systemd.time(7) up to the week; U+00B5 and U+03BC both write "µs".
constexpr std::array<UnitName, 24> kUnits = {{
    {"us", 1},
    {"usec", 1},
    {"\xC2\xB5s", 1},
    {"\xCE\xBCs", 1},
    {"ms", 1000},
    {"msec", 1000},
    {"s", kSecond},
    {"sec", kSecond},
    {"second", kSecond},
    {"seconds", kSecond},
    {"m", 60 * kSecond},
    {"min", 60 * kSecond},
    {"minute", 60 * kSecond},
    {"minutes", 60 * kSecond},
    {"h", 3600 * kSecond},
    {"hr", 3600 * kSecond},
    {"hour", 3600 * kSecond},
    {"hours", 3600 * kSecond},
    {"d", 86400 * kSecond},
    {"day", 86400 * kSecond},
    {"days", 86400 * kSecond},
    {"w", 7 * 86400 * kSecond},
    {"week", 7 * 86400 * kSecond},
    {"weeks", 7 * 86400 * kSecond},
}};

std::optional<std::int64_t> unit_named(std::string_view name) {
  for (const UnitName& unit : kUnits)
    if (unit.name == name) return unit.microseconds;
  return std::nullopt;
}

// A number such as "12", "2.5" or ".7", not yet multiplied.
struct Number {
  std::int64_t whole = 0;
  std::string_view fraction;
};

// Takes a number off the front of `text`. False where there is none or it is past 64 bits.
bool take_number(std::string_view& text, Number& number) {
  const char* const end = text.data() + text.size();
  const char* at = text.data();
  if (at != end && is_digit(*at)) {
    const auto [rest, fault] = std::from_chars(at, end, number.whole);
    if (fault != std::errc()) return false;
    at = rest;
  } else if (at == end || *at != '.') {
    return false;
  }
  if (at != end && *at == '.') {
    const char* const first = ++at;
    while (at != end && is_digit(*at)) ++at;
    if (at == first) return false;
    number.fraction = std::string_view(first, static_cast<std::size_t>(at - first));
  }
  text.remove_prefix(static_cast<std::size_t>(at - text.data()));
  return true;
}

// Adds number x unit to `total`, cut at microseconds. False on overflow.
bool add_part(std::int64_t& total, const Number& number, std::int64_t unit) {
  std::int64_t part = 0;
  if (__builtin_mul_overflow(number.whole, unit, &part)) return false;
  std::int64_t place = unit;
  for (const char digit : number.fraction) {
    place /= 10;
    if (__builtin_add_overflow(part, place * (digit - '0'), &part)) return false;
  }
  return !__builtin_add_overflow(total, part, &total);
}

void skip_blanks(std::string_view& text) {
  while (!text.empty() && is_blank(text.front())) text.remove_prefix(1);
}

}  // namespace

std::optional<Span> parse_span(std::string_view text) {
  std::int64_t total = 0;
  bool bare = false;
  bool any = false;
  for (skip_blanks(text); !text.empty(); skip_blanks(text)) {
    // A number without a unit stands alone: "1h 30" could mean seconds or minutes.
    if (bare) return std::nullopt;
    Number number;
    if (!take_number(text, number)) return std::nullopt;
    skip_blanks(text);
    std::size_t length = 0;
    while (length < text.size() && !is_digit(text[length]) && !is_blank(text[length]) &&
           text[length] != '.')
      ++length;
    bare = length == 0;
    if (bare && any) return std::nullopt;
    const auto unit = bare ? kSecond : unit_named(text.substr(0, length));
    if (!unit || !add_part(total, number, *unit)) return std::nullopt;
    text.remove_prefix(length);
    any = true;
  }
  if (!any) return std::nullopt;
  return Span(total / 1000 + (total % 1000 >= 500 ? 1 : 0));
}

std::string to_text(Span span) {
  struct Part {
    std::string_view name;
    std::uint64_t milliseconds;
  };
  static constexpr std::array<Part, 5> kParts = {
      {{"d", 86'400'000}, {"h", 3'600'000}, {"min", 60'000}, {"s", 1000}, {"ms", 1}}};
  const bool negative = span.count() < 0;
  auto rest = static_cast<std::uint64_t>(span.count());
  if (negative) rest = 0 - rest;
  if (rest == 0) return "0s";
  std::string out = negative ? "-" : "";
  for (const Part& part : kParts) {
    const std::uint64_t count = rest / part.milliseconds;
    if (count == 0) continue;
    rest %= part.milliseconds;
    if (out.size() > (negative ? 1U : 0U)) out += ' ';
    out += std::to_string(count);
    out += part.name;
  }
  return out;
}

}  // namespace clutchward
