// Decimal text to thousandths, without a double in between: what was written is what is rounded.
#include "reading/decimal.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <string>

#include "base/check.h"
#include "reading/signal.h"

namespace clutchward {
namespace {

constexpr int kFineDigits = 10;
constexpr std::array<Fine, 11> kPowers = {
    1,         10,         100,         1'000,         10'000,        100'000,
    1'000'000, 10'000'000, 100'000'000, 1'000'000'000, 10'000'000'000};

constexpr unsigned digit_of(char c) { return static_cast<unsigned char>(c) - unsigned{'0'}; }
constexpr bool is_digit(char c) { return digit_of(c) <= 9; }

constexpr std::int64_t divide_half_away(std::int64_t value, std::int64_t by) {
  return value >= 0 ? (value + by / 2) / by : -((-value + by / 2) / by);
}

// The parts of an unsigned number as they stand in the text.
struct Written {
  std::string_view whole;
  std::string_view fraction;
  int exponent = 0;
};

// The rare form with an exponent, or with more digits than the fast path takes: moves the decimal
// point in the text itself, so that nothing is rounded twice.
NumberFault from_written(const Written& written, Fine& value) {
  std::string digits(written.whole);
  digits += written.fraction;
  const std::size_t zeros = std::min(digits.find_first_not_of('0'), digits.size());
  digits.erase(0, zeros);
  if (digits.empty()) {
    value = 0;
    return NumberFault::none;
  }
  // The value is 0.digits x 10^point.
  const int point =
      static_cast<int>(written.whole.size()) - static_cast<int>(zeros) + written.exponent;
  // The largest double is just under 1.8e308, which is 0.18 x 10^309.
  constexpr int kDoublePoint = 309;
  if (point >= kDoublePoint) {
    if (point > kDoublePoint) return NumberFault::infinite;
    const std::string text = "0." + digits + "e" + std::to_string(point);
    double ignored = 0;
    const auto [end, fault] = std::from_chars(text.data(), text.data() + text.size(), ignored);
    return fault == std::errc() ? NumberFault::huge : NumberFault::infinite;
  }
  if (point > 7) return NumberFault::huge;
  value = 0;
  for (int i = 0; i < point + kFineDigits; ++i)
    value =
        value * 10 +
        (i < static_cast<int>(digits.size()) ? digit_of(digits[static_cast<std::size_t>(i)]) : 0);
  const auto taken = static_cast<std::size_t>(std::max(0, point + kFineDigits));
  const bool more =
      taken < digits.size() && digits.find_first_not_of('0', taken) != std::string::npos;
  if (more && value % 10 == 0) ++value;
  return NumberFault::none;
}

// Reads the exponent's digits behind 'e'; far exponents are held at a size that is far for certain.
bool take_exponent(const char*& at, const char* end, int& exponent) {
  ++at;
  const bool negative = at != end && *at == '-';
  if (at != end && (*at == '-' || *at == '+')) ++at;
  const char* const first = at;
  constexpr int kFar = 100'000;
  for (; at != end && is_digit(*at); ++at)
    exponent = std::min(exponent * 10 + static_cast<int>(digit_of(*at)), kFar);
  if (negative) exponent = -exponent;
  return at != first;
}

bool same_word(std::string_view word, std::string_view lower) {
  return std::equal(word.begin(), word.end(), lower.begin(), lower.end(), [](char a, char b) {
    return (a >= 'A' && a <= 'Z' ? static_cast<char>(a + ('a' - 'A')) : a) == b;
  });
}

template <std::size_t N>
bool any_of(std::string_view word, const std::array<std::string_view, N>& lower) {
  return std::any_of(lower.begin(), lower.end(),
                     [&](std::string_view known) { return same_word(word, known); });
}

constexpr std::array<std::string_view, 4> kOnWords = {"on", "1", "true", "yes"};
constexpr std::array<std::string_view, 4> kOffWords = {"off", "0", "false", "no"};

}  // namespace

NumberFault take_decimal(std::string_view& text, Fine& value) {
  const char* at = text.data();
  const char* const end = at + text.size();
  bool negative = false;
  if (at != end && (*at == '-' || *at == '+')) negative = *at++ == '-';

  const char* const whole_first = at;
  std::int64_t whole = 0;
  for (; at != end && is_digit(*at); ++at)
    if (at - whole_first < 7) whole = whole * 10 + digit_of(*at);
  const auto whole_digits = at - whole_first;

  const char* fraction_first = at;
  std::int64_t fraction = 0;
  if (at != end && *at == '.') {
    fraction_first = ++at;
    for (; at != end && is_digit(*at); ++at)
      if (at - fraction_first < 9) fraction = fraction * 10 + digit_of(*at);
    if (at == fraction_first) return NumberFault::not_a_number;
  }
  const auto fraction_digits = at - fraction_first;
  if (whole_digits + fraction_digits == 0) return NumberFault::not_a_number;

  const bool exponent = at != end && (*at == 'e' || *at == 'E');
  NumberFault fault = NumberFault::none;
  if (!exponent && whole_digits <= 7 && fraction_digits <= 9) {
    value =
        whole * kFinePerUnit + fraction * kPowers[static_cast<std::size_t>(10 - fraction_digits)];
  } else {
    Written written{{whole_first, static_cast<std::size_t>(whole_digits)},
                    {fraction_first, static_cast<std::size_t>(fraction_digits)}};
    if (exponent && !take_exponent(at, end, written.exponent)) return NumberFault::not_a_number;
    fault = from_written(written, value);
  }
  if (negative) value = -value;
  text.remove_prefix(static_cast<std::size_t>(at - text.data()));
  return fault;
}

Fine fine_of(double value) {
  std::array<char, 32> text{};
  const auto [end, fault] = std::to_chars(text.data(), text.data() + text.size(), value);
  CHECK(fault == std::errc());
  std::string_view rest(text.data(), static_cast<std::size_t>(end - text.data()));
  Fine fine = 0;
  CHECK(take_decimal(rest, fine) == NumberFault::none && rest.empty());
  return fine;
}

Decoded to_reading(Fine value, Quantity quantity, bool fahrenheit) {
  constexpr Fine kFinePerMilli = kFinePerUnit / 1000;
  const std::int64_t milli =
      fahrenheit ? divide_half_away((value - 32 * kFinePerUnit) * 5, 9 * kFinePerMilli)
                 : divide_half_away(value, kFinePerMilli);
  const PlausibleRange range = plausible_range(quantity);
  if (milli < range.low || milli > range.high) return Rejection::implausible;
  return static_cast<Milli>(milli);
}

Decoded decode_switch(std::string_view word) {
  if (any_of(word, kOnWords)) return Milli{1000};
  if (any_of(word, kOffWords)) return Milli{0};
  return Rejection::not_a_number;
}

Decoded decode_signal(std::string_view word) {
  const auto on = signal_word(word);
  if (!on) return Rejection::not_a_number;
  return Milli{*on ? 1000 : 0};
}

std::optional<Decoded> decode_side(std::string_view word) {
  if (same_word(word, "left")) return Milli{-45'000};
  if (same_word(word, "right")) return Milli{45'000};
  return std::nullopt;
}

Decoded decode_turn(std::string_view word) {
  if (word.empty() || any_of(word, kOffWords)) return Rejection::empty;
  return Milli{1000};
}

}  // namespace clutchward
