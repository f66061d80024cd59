// Making strangers' text safe to show, checking ids, and numbers as text without any locale.
// Nothing here changes meaning silently: what is cut or escaped can be seen.
#include "base/text.h"

#include <algorithm>
#include <numeric>

#include "base/check.h"
#include "base/utf8.h"

namespace clutchward {

utf8::Character utf8::first(std::string_view text) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const unsigned lead = byte(0);
  if (lead < 0x80) return {lead, 1};
  const std::size_t bytes = lead >= 0xF0 ? 4 : lead >= 0xE0 ? 3 : 2;
  if (lead < 0xC2 || lead > 0xF4 || text.size() < bytes) return {};
  char32_t code = lead & (0x7FU >> bytes);
  for (std::size_t i = 1; i < bytes; ++i) {
    if ((byte(i) & 0xC0U) != 0x80) return {};
    code = (code << 6) | (byte(i) & 0x3FU);
  }
  const bool overlong = (bytes == 3 && code < 0x800) || (bytes == 4 && code < 0x10000);
  const bool surrogate = code >= 0xD800 && code <= 0xDFFF;
  if (overlong || surrogate || code > 0x10FFFF) return {};
  return {code, bytes};
}

namespace {

bool is_control(char32_t code) { return code < 0x20 || (code >= 0x7F && code <= 0x9F); }

// Line separators and the marks that turn writing round: they could forge a line of a log.
bool is_hidden_mark(char32_t code) {
  return (code >= 0x200B && code <= 0x200F) || (code >= 0x2028 && code <= 0x202E) ||
         (code >= 0x2060 && code <= 0x2069) || code == 0xFEFF;
}

// The blanks of Unicode's category Zs.
bool is_blank(char32_t code) {
  return code == ' ' || code == 0xA0 || code == 0x1680 || (code >= 0x2000 && code <= 0x200A) ||
         code == 0x202F || code == 0x205F || code == 0x3000;
}

void escape_byte(std::string& out, unsigned char byte) {
  static constexpr char kHex[] = "0123456789ABCDEF";
  out += "\\x";
  out += kHex[byte >> 4];
  out += kHex[byte & 15];
}

// One character as printable() writes it.
std::string escaped(std::string_view bytes, const utf8::Character& character) {
  if (character.bytes != 0) {
    switch (character.code) {
      case '\n':
        return "\\n";
      case '\r':
        return "\\r";
      case '\t':
        return "\\t";
      case '"':
        return "\\\"";
      case '\\':
        return "\\\\";
      default:
        break;
    }
    if (!is_control(character.code) && !is_hidden_mark(character.code)) return std::string(bytes);
  }
  std::string out;
  for (const char byte : bytes) escape_byte(out, static_cast<unsigned char>(byte));
  return out;
}

// Edit distance in which two neighbours swapped are one edit ("optimal string alignment"), since
// that is the commonest slip of the hand.
std::size_t distance(std::string_view a, std::string_view b) {
  std::vector<std::size_t> before(b.size() + 1), last(b.size() + 1), row(b.size() + 1);
  std::iota(last.begin(), last.end(), std::size_t{0});
  for (std::size_t i = 1; i <= a.size(); ++i) {
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      row[j] =
          std::min({last[j] + 1, row[j - 1] + 1, last[j - 1] + (a[i - 1] != b[j - 1] ? 1 : 0)});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
        row[j] = std::min(row[j], before[j - 2] + 1);
    }
    before.swap(last);
    last.swap(row);
  }
  return last[b.size()];
}

}  // namespace

std::string nearest_word(std::string_view word, const std::vector<std::string>& known) {
  // Longer than any word we have: not worth the square of its length.
  constexpr std::size_t kLongest = 64;
  if (word.empty() || word.size() > kLongest) return {};
  std::size_t best = std::max<std::size_t>(1, word.size() / 3) + 1;
  std::string_view nearest;
  for (const std::string& candidate : known) {
    if (candidate.size() > 2 * kLongest) continue;
    const std::size_t edits = distance(word, candidate);
    if (edits < best) {
      best = edits;
      nearest = candidate;
    }
  }
  return std::string(nearest);
}

std::string printable(std::string_view text, std::size_t limit) {
  static constexpr std::string_view kEllipsis = "\xE2\x80\xA6";
  std::string out;
  std::size_t keep = 0;  // how much of `out` leaves room for the ellipsis
  while (!text.empty()) {
    const utf8::Character character = utf8::first(text);
    const std::string_view bytes = text.substr(0, std::max<std::size_t>(1, character.bytes));
    out += escaped(bytes, character);
    if (out.size() > limit) {
      out.resize(keep);
      if (limit >= kEllipsis.size()) out += kEllipsis;
      return out;
    }
    if (out.size() + kEllipsis.size() <= limit) keep = out.size();
    text.remove_prefix(bytes.size());
  }
  return out;
}

std::string milli_text(std::int64_t value, int decimals) {
  CHECK(decimals >= 0 && decimals <= 3);
  std::uint64_t step = 1;
  for (int i = decimals; i < 3; ++i) step *= 10;
  auto size = static_cast<std::uint64_t>(value);
  if (value < 0) size = 0 - size;
  const std::uint64_t steps = size / step + (size % step * 2 >= step && step > 1 ? 1 : 0);
  const std::uint64_t scale = 1000 / step;
  std::string out = value < 0 && steps != 0 ? "-" : "";
  out += std::to_string(steps / scale);
  if (decimals > 0) {
    const std::string fraction = std::to_string(steps % scale);
    out += '.';
    out.append(static_cast<std::size_t>(decimals) - fraction.size(), '0');
    out += fraction;
  }
  return out;
}

std::string milli_exact(std::int64_t value) {
  std::string out = milli_text(value, 3);
  out.erase(out.find_last_not_of('0') + 1);
  if (out.back() == '.') out.pop_back();
  return out;
}

bool valid_utf8(std::string_view text) {
  while (!text.empty()) {
    const std::size_t bytes = utf8::first(text).bytes;
    if (bytes == 0) return false;
    text.remove_prefix(bytes);
  }
  return true;
}

bool valid_id(std::string_view text) {
  constexpr std::size_t kLongest = 64;
  if (text.empty() || text.size() > kLongest || text == "." || text == "..") return false;
  while (!text.empty()) {
    const utf8::Character character = utf8::first(text);
    if (character.bytes == 0 || is_control(character.code) || is_blank(character.code) ||
        is_hidden_mark(character.code))
      return false;
    if (text.front() == '/' || text.front() == '+' || text.front() == '#') return false;
    text.remove_prefix(character.bytes);
  }
  return true;
}

}  // namespace clutchward
