// Times of day and date as RFC 3339 writes them, by hand: no locale, no allocation while reading.
// It refuses leap seconds, and never reads a clock.
#include "base/time.h"

namespace clutchward {
namespace {

constexpr bool is_digit(char c) { return c >= '0' && c <= '9'; }

// Two digits as a number, or a value past every limit where they are none.
inline unsigned two_digits(const char* at) {
  const unsigned tens = static_cast<unsigned char>(at[0]) - '0';
  const unsigned ones = static_cast<unsigned char>(at[1]) - '0';
  return tens <= 9 && ones <= 9 ? tens * 10 + ones : 100;
}

void put_digits(std::string& out, unsigned value, int digits) {
  char text[8];
  for (int i = digits; i-- > 0; value /= 10) text[i] = static_cast<char>('0' + value % 10);
  out.append(text, static_cast<std::size_t>(digits));
}

enum class Form : bool { rfc3339, recorded };

// Reads "Z" or "+hh:mm" and nothing behind it, as minutes east of UTC; in recordings also "+hhmm"
// and a 'Z' before an offset. False for anything else.
bool read_offset(const char* at, const char* end, Form form, std::int64_t& minutes) {
  if (at == end) return false;
  if (*at == 'Z' || *at == 'z') {
    ++at;
    minutes = 0;
    if (at == end) return true;
    if (form == Form::rfc3339) return false;
  }
  const char sign = *at++;
  if (sign != '+' && sign != '-') return false;
  const auto length = end - at;
  const bool colon = length == 5 && at[2] == ':';
  if (!colon && !(form == Form::recorded && length == 4)) return false;
  const unsigned hour = two_digits(at);
  const unsigned minute = two_digits(end - 2);
  if (hour > 23 || minute > 59) return false;
  minutes = static_cast<std::int64_t>(hour * 60 + minute) * (sign == '-' ? -1 : 1);
  return true;
}

// Reads ".ddd…" as milliseconds, rounded half up (so 1000 is possible), and moves `at` behind it.
bool read_fraction(const char*& at, const char* end, unsigned& milliseconds) {
  const char* const first = ++at;
  unsigned value = 0;
  for (; at != end && is_digit(*at); ++at) {
    const auto place = at - first;
    if (place < 3) value = value * 10 + static_cast<unsigned>(*at - '0');
    if (place == 3 && *at >= '5') ++value;
  }
  const auto digits = at - first;
  for (auto place = digits; place < 3; ++place) value *= 10;
  milliseconds = value;
  return digits > 0;
}

std::optional<Wall> parse(std::string_view text, Form form) {
  // The shortest is "2026-03-01T09:00:00Z".
  if (text.size() < 20) return std::nullopt;
  const char* at = text.data();
  const char* const end = at + text.size();
  const unsigned century = two_digits(at);
  const unsigned year_of_century = two_digits(at + 2);
  const unsigned month = two_digits(at + 5);
  const unsigned day = two_digits(at + 8);
  const unsigned hour = two_digits(at + 11);
  const unsigned minute = two_digits(at + 14);
  const unsigned second = two_digits(at + 17);
  const char separator = at[10];
  if (at[4] != '-' || at[7] != '-' || at[13] != ':' || at[16] != ':') return std::nullopt;
  if (separator != 'T' && separator != 't' && separator != ' ') return std::nullopt;
  if (century > 99 || year_of_century > 99 || hour > 23 || minute > 59 || second > 59)
    return std::nullopt;
  const std::chrono::year_month_day date(
      std::chrono::year(static_cast<int>(century * 100 + year_of_century)),
      std::chrono::month(month), std::chrono::day(day));
  if (!date.ok()) return std::nullopt;

  at += 19;
  unsigned milliseconds = 0;
  if (*at == '.' && !read_fraction(at, end, milliseconds)) return std::nullopt;
  std::int64_t offset_minutes = 0;
  if (!read_offset(at, end, form, offset_minutes)) return std::nullopt;

  const std::int64_t days = std::chrono::sys_days(date).time_since_epoch().count();
  const std::int64_t minutes = days * 1440 + hour * 60 + minute - offset_minutes;
  return Wall(Span(minutes * 60'000 + second * 1000 + milliseconds));
}

}  // namespace

std::string to_rfc3339(Wall time) {
  const auto day = std::chrono::floor<std::chrono::days>(time);
  const std::chrono::year_month_day date(day);
  auto rest = static_cast<unsigned>((time - day).count());
  std::string out;
  out.reserve(24);
  int year = static_cast<int>(date.year());
  if (year < 0) {
    out += '-';
    year = -year;
  }
  put_digits(out, static_cast<unsigned>(year), year > 9999 ? 5 : 4);
  out += '-';
  put_digits(out, static_cast<unsigned>(date.month()), 2);
  out += '-';
  put_digits(out, static_cast<unsigned>(date.day()), 2);
  out += 'T';
  put_digits(out, rest / 3'600'000, 2);
  out += ':';
  put_digits(out, rest / 60'000 % 60, 2);
  out += ':';
  put_digits(out, rest / 1000 % 60, 2);
  out += '.';
  put_digits(out, rest % 1000, 3);
  out += 'Z';
  return out;
}

std::optional<Wall> parse_rfc3339(std::string_view text) { return parse(text, Form::rfc3339); }

std::optional<Wall> parse_recorded_time(std::string_view text) {
  return parse(text, Form::recorded);
}

}  // namespace clutchward
