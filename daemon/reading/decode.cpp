// Plain payloads: one number or one word. Written for the common case, a short number, since a site
// of a thousand cabinets sends thousands a second. It refuses to guess: a comma, a foreign unit or
// anything behind the number makes the payload a rejection.
#include "reading/decode.h"

#include <array>
#include <cmath>

#include "base/check.h"
#include "base/limits.h"
#include "reading/decimal.h"

namespace clutchward {
namespace {

constexpr bool is_blank(char c) { return c == ' ' || c == '\t' || c == '\n' || c == '\r'; }
constexpr bool is_letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && is_blank(text.front())) text.remove_prefix(1);
  while (!text.empty() && is_blank(text.back())) text.remove_suffix(1);
  return text;
}

// "nan", "-inf", "Infinity", "nan(ind)": what printf writes of a double that is no number.
bool is_not_finite_word(std::string_view text) {
  if (!text.empty() && (text.front() == '-' || text.front() == '+')) text.remove_prefix(1);
  std::array<char, 9> lower{};
  std::size_t length = 0;
  for (; length < text.size() && is_letter(text[length]); ++length) {
    if (length == lower.size()) return false;
    lower[length] = static_cast<char>(text[length] | 0x20);
  }
  const std::string_view word(lower.data(), length);
  return word == "nan" || word == "inf" || word == "infinity";
}

enum class Written : std::uint8_t { celsius, fahrenheit, percent, other_unit, no_unit };

// What stands behind the number. A word of letters and signs is a unit that we do not have;
// anything else ("37,5", "37.5.1", "0x1F") shows that the number was none.
Written written_unit(std::string_view text) {
  if (text == "C" ||
      text ==
          "\xC2\xB0"
          "C" ||
      text == "Cel" || text == "\xE2\x84\x83")
    return Written::celsius;
  if (text == "F" ||
      text ==
          "\xC2\xB0"
          "F" ||
      text == "\xE2\x84\x89")
    return Written::fahrenheit;
  if (text == "%" || text == "%RH") return Written::percent;
  constexpr std::size_t kLongestUnit = 16;
  if (text.size() > kLongestUnit || !valid_utf8(text)) return Written::no_unit;
  for (const char c : text)
    if (!is_letter(c) && c != '%' && c != '/' && static_cast<unsigned char>(c) < 0x80)
      return Written::no_unit;
  return Written::other_unit;
}

Decoded decode_number(std::string_view text, Quantity quantity, Unit unit) {
  Fine value = 0;
  std::string_view rest = text;
  const NumberFault fault = take_decimal(rest, value);
  if (fault == NumberFault::not_a_number)
    return is_not_finite_word(text) ? Rejection::not_finite : Rejection::not_a_number;

  const bool temperature = is_temperature(quantity);
  bool fahrenheit = temperature && unit == Unit::fahrenheit;
  if (!rest.empty()) {
    const Written written = written_unit(trimmed(rest));
    if (written == Written::no_unit) return Rejection::not_a_number;
    const bool degrees = written == Written::celsius || written == Written::fahrenheit;
    if (written == Written::other_unit || degrees != temperature) return Rejection::bad_unit;
    fahrenheit = written == Written::fahrenheit;
  }
  if (fault == NumberFault::infinite) return Rejection::not_finite;
  if (fault == NumberFault::huge) return Rejection::implausible;
  return to_reading(value, quantity, fahrenheit);
}

}  // namespace

Decoded decode_plain(std::string_view payload, Quantity quantity, Unit unit) {
  if (payload.empty()) return Rejection::empty;
  if (payload.size() > limits::kPayloadBytes) return Rejection::too_long;
  const std::string_view text = trimmed(payload);
  switch (quantity) {
    case Quantity::turn:
      return decode_turn(text);
    case Quantity::cooling:
    case Quantity::power:
      return decode_switch(text);
    case Quantity::signal:
      return decode_signal(text);
    case Quantity::turn_side:
      if (const auto side = decode_side(text)) return *side;
      break;
    case Quantity::turn_run:
    case Quantity::egg:
    case Quantity::temperature:
    case Quantity::humidity:
    case Quantity::wet_bulb:
    case Quantity::dew_point:
      break;
  }
  return decode_number(text, quantity, unit);
}

Milli to_milli(double value) {
  CHECK(std::isfinite(value) && std::abs(value) < 2e6);
  const double scaled = value * 1000;
  // Below 2e9 the product is off by less than 1e-6, so only there can the binary number fall on the
  // other side of a half than the decimal one; the shortest decimal that reads back decides.
  constexpr double kNearHalf = 1e-5;
  const double beyond = std::abs(scaled) - std::floor(std::abs(scaled));
  if (std::abs(beyond - 0.5) > kNearHalf) return static_cast<Milli>(std::llround(scaled));
  const Fine fine = fine_of(value);
  constexpr Fine kFinePerMilli = kFinePerUnit / 1000;
  const Fine half = fine < 0 ? -kFinePerMilli / 2 : kFinePerMilli / 2;
  return static_cast<Milli>((fine + half) / kFinePerMilli);
}

}  // namespace clutchward
