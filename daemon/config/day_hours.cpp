// Reads weekdays, hours and dates. It refuses to guess: no short years, no single digits.
#include "config/day_hours.h"

#include <algorithm>
#include <array>

namespace clutchward {
namespace {

constexpr std::array<std::string_view, 7> kDays = {"mon", "tue", "wed", "thu", "fri", "sat", "sun"};
constexpr std::uint8_t kEveryDay = 0x7f;

// `digits` decimal digits, all of `text`.
std::optional<int> number(std::string_view text, std::size_t digits) {
  if (text.size() != digits) return std::nullopt;
  int value = 0;
  for (const char c : text) {
    if (c < '0' || c > '9') return std::nullopt;
    value = value * 10 + (c - '0');
  }
  return value;
}

std::optional<std::size_t> day_of(std::string_view text) {
  const auto found = std::find(kDays.begin(), kDays.end(), text);
  if (found == kDays.end()) return std::nullopt;
  return static_cast<std::size_t>(found - kDays.begin());
}

}  // namespace

std::optional<Span> parse_time_of_day(std::string_view text) {
  if (text.size() != 5 || text[2] != ':') return std::nullopt;
  const auto hours = number(text.substr(0, 2), 2);
  const auto minutes = number(text.substr(3), 2);
  if (!hours || !minutes || *hours > 23 || *minutes > 59) return std::nullopt;
  return std::chrono::hours{*hours} + std::chrono::minutes{*minutes};
}

std::optional<std::uint8_t> parse_days(std::string_view text) {
  std::uint8_t days = 0;
  for (;;) {
    const auto comma = text.find(',');
    const std::string_view part = text.substr(0, comma);
    const auto dash = part.find('-');
    const auto first = day_of(part.substr(0, dash));
    const auto last = dash == std::string_view::npos ? first : day_of(part.substr(dash + 1));
    if (!first || !last) return std::nullopt;
    for (std::size_t day = *first;; day = (day + 1) % kDays.size()) {
      days |= static_cast<std::uint8_t>(1U << day);
      if (day == *last) break;
    }
    if (comma == std::string_view::npos) return days;
    text.remove_prefix(comma + 1);
  }
}

std::optional<DayHours> parse_day_hours(std::string_view text) {
  DayHours hours;
  const auto blank = text.find(' ');
  const bool names_days = !text.empty() && (text[0] < '0' || text[0] > '9');
  if (names_days) {
    const auto days = parse_days(text.substr(0, blank));
    if (!days) return std::nullopt;
    hours.days = *days;
    if (blank == std::string_view::npos) return hours;
    text.remove_prefix(blank + 1);
  } else {
    hours.days = kEveryDay;
  }
  if (text.size() != 11 || text[5] != '-') return std::nullopt;
  const auto from = parse_time_of_day(text.substr(0, 5));
  const bool midnight = text.substr(6) == "24:00";
  const auto to =
      midnight ? std::optional<Span>(std::chrono::hours{24}) : parse_time_of_day(text.substr(6));
  if (!from || !to || *from == *to) return std::nullopt;
  hours.from = *from;
  hours.to = *to;
  return hours;
}

std::optional<std::chrono::local_days> parse_date(std::string_view text) {
  if (text.size() != 10 || text[4] != '-' || text[7] != '-') return std::nullopt;
  const auto year = number(text.substr(0, 4), 4);
  const auto month = number(text.substr(5, 2), 2);
  const auto day = number(text.substr(8), 2);
  if (!year || !month || !day) return std::nullopt;
  const std::chrono::year_month_day date{std::chrono::year{*year},
                                         std::chrono::month{static_cast<unsigned>(*month)},
                                         std::chrono::day{static_cast<unsigned>(*day)}};
  if (!date.ok()) return std::nullopt;
  return std::chrono::local_days{date};
}

}  // namespace clutchward
