// Rewrites number tokens outside of strings; refuses to judge whether the rest is JSON.
#include "reading/wide_numbers.h"

#include <charconv>
#include <system_error>

namespace clutchward {
namespace {

constexpr bool is_digit(char c) { return c >= '0' && c <= '9'; }
constexpr bool is_number_character(char c) {
  return is_digit(c) || c == '-' || c == '+' || c == '.' || c == 'e' || c == 'E';
}

std::size_t digits_at(std::string_view text, std::size_t at) {
  std::size_t count = 0;
  while (at + count < text.size() && is_digit(text[at + count])) ++count;
  return count;
}

enum class Form { none, integer, floating };

// The grammar of RFC 8259 section 6.
Form form_of(std::string_view token) {
  std::size_t at = !token.empty() && token[0] == '-' ? 1 : 0;
  const std::size_t whole = digits_at(token, at);
  if (whole == 0 || (whole > 1 && token[at] == '0')) return Form::none;
  at += whole;
  if (at == token.size()) return Form::integer;
  if (token[at] == '.') {
    const std::size_t fraction = digits_at(token, at + 1);
    if (fraction == 0) return Form::none;
    at += 1 + fraction;
  }
  if (at < token.size() && (token[at] == 'e' || token[at] == 'E')) {
    ++at;
    if (at < token.size() && (token[at] == '-' || token[at] == '+')) ++at;
    const std::size_t exponent = digits_at(token, at);
    if (exponent == 0) return Form::none;
    at += exponent;
  }
  return at == token.size() ? Form::floating : Form::none;
}

// Whether a number that from_chars calls out of range is too large rather than too small.
bool overflows(std::string_view token) {
  double value = 0;
  const auto [end, fault] = std::from_chars(token.data(), token.data() + token.size(), value);
  if (fault != std::errc::result_out_of_range) return false;
  const std::size_t exponent = token.find_first_of("eE");
  return exponent == std::string_view::npos || token[exponent + 1] != '-';
}

void put_number(std::string& out, std::string_view token) {
  const Form form = form_of(token);
  if (form != Form::none && overflows(token)) {
    out += token.front() == '-' ? "-1.7976931348623157e308" : "1.7976931348623157e308";
    return;
  }
  out += token;
  constexpr std::size_t kDigitsPast64Bits = 19;
  if (form == Form::integer && token.size() >= kDigitsPast64Bits) out += "e0";
}

}  // namespace

void narrow_numbers(std::string_view json, std::string& out) {
  out.clear();
  bool in_string = false;
  for (std::size_t at = 0; at < json.size();) {
    const char c = json[at];
    if (!in_string && (is_digit(c) || c == '-')) {
      std::size_t end = at;
      while (end < json.size() && is_number_character(json[end])) ++end;
      put_number(out, json.substr(at, end - at));
      at = end;
      continue;
    }
    out += c;
    ++at;
    if (in_string && c == '\\' && at < json.size()) out += json[at++];
    if (c == '"') in_string = !in_string;
  }
}

}  // namespace clutchward
