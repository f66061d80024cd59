// Reads the few things of an HTTP reply that matter here. Does not look at the body.
#include "channel/http_reply.h"

#include <strings.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cstdio>

namespace clutchward {
namespace {

// Longer would be a server's mistake; an alarm does not wait a week.
constexpr Span kLongestWait = std::chrono::hours{24};

std::optional<std::string_view> header_value(const std::vector<std::string>& lines,
                                             std::string_view name) {
  // The last one counts: lines of an interim reply (100) come first.
  std::optional<std::string_view> found;
  for (const std::string& line : lines) {
    if (line.size() <= name.size() || line[name.size()] != ':') continue;
    if (::strncasecmp(line.data(), name.data(), name.size()) != 0) continue;
    std::string_view value = std::string_view(line).substr(name.size() + 1);
    while (!value.empty() && (value.front() == ' ' || value.front() == '\t'))
      value.remove_prefix(1);
    while (!value.empty() && (value.back() == ' ' || value.back() == '\t')) value.remove_suffix(1);
    found = value;
  }
  return found;
}

std::optional<int> number(std::string_view text) {
  int value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc() || end != text.data() + text.size() || text.front() == '-')
    return std::nullopt;
  return value;
}

bool all_digits(std::string_view text) {
  return !text.empty() &&
         std::all_of(text.begin(), text.end(), [](char c) { return c >= '0' && c <= '9'; });
}

}  // namespace

Outcome outcome_of_status(long status) {
  if (status >= 200 && status < 300) return Outcome::delivered;
  if (status == 408 || status == 425 || status == 429) return Outcome::try_again;
  if (status >= 500 && status < 600) return Outcome::try_again;
  return Outcome::failed;
}

std::optional<Wall> parse_http_date(std::string_view text) {
  constexpr std::array<std::string_view, 12> kMonths = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                                        "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
  // "Sun, 06 Nov 1994 08:49:37 GMT"
  if (text.size() != 29 || text.substr(3, 2) != ", " || text.substr(25) != " GMT" ||
      text[7] != ' ' || text[11] != ' ' || text[16] != ' ' || text[19] != ':' || text[22] != ':')
    return std::nullopt;
  const auto* const month = std::find(kMonths.begin(), kMonths.end(), text.substr(8, 3));
  if (month == kMonths.end()) return std::nullopt;
  for (const auto& [from, length] : {std::pair{5, 2}, {12, 4}, {17, 2}, {20, 2}, {23, 2}})
    if (!all_digits(text.substr(from, length))) return std::nullopt;
  const int hour = *number(text.substr(17, 2));
  const int minute = *number(text.substr(20, 2));
  const int second = *number(text.substr(23, 2));
  const std::chrono::year_month_day date{
      std::chrono::year{*number(text.substr(12, 4))},
      std::chrono::month{static_cast<unsigned>(month - kMonths.begin()) + 1},
      std::chrono::day{static_cast<unsigned>(*number(text.substr(5, 2)))}};
  if (!date.ok() || hour > 23 || minute > 59 || second > 60) return std::nullopt;
  return Wall{std::chrono::sys_days{date}} + std::chrono::hours{hour} +
         std::chrono::minutes{minute} + std::chrono::seconds{second};
}

std::optional<Span> retry_after(const std::vector<std::string>& header_lines, Wall now) {
  const auto value = header_value(header_lines, "Retry-After");
  if (!value) return std::nullopt;
  if (all_digits(*value)) {
    const auto seconds = number(*value);
    if (!seconds) return kLongestWait;  // more digits than an int has
    return std::min<Span>(std::chrono::seconds{*seconds}, kLongestWait);
  }
  const auto until = parse_http_date(*value);
  if (!until) return std::nullopt;
  // Both dates by the other side's clock: ours may be wrong after a power cut.
  if (const auto date = header_value(header_lines, "Date"))
    if (const auto theirs = parse_http_date(*date)) now = *theirs;
  return std::clamp<Span>(*until - now, Span{0}, kLongestWait);
}

}  // namespace clutchward
