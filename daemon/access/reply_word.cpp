// Reads lines as people and their mail programs write them.
#include "access/reply_word.h"

#include <charconv>
#include <vector>

namespace clutchward {
namespace {

// A phone that announces what it quotes wraps that line: two or three, not a letter.
constexpr std::size_t kAnnouncement = 4;
// Longer than a week is no snooze; the alarm's own limit is far below.
constexpr double kMostMinutes = 10'080;

bool blank(char c) { return c == ' ' || c == '\t' || c == '\r'; }

std::string_view trimmed(std::string_view text) {
  // A no-break space and a byte order mark are blanks too.
  for (bool again = true; again;) {
    again = false;
    for (const std::string_view odd : {"\xc2\xa0", "\xef\xbb\xbf"}) {
      if (text.starts_with(odd)) text.remove_prefix(odd.size()), again = true;
      if (text.ends_with(odd)) text.remove_suffix(odd.size()), again = true;
    }
    if (!text.empty() && blank(text.front())) text.remove_prefix(1), again = true;
    if (!text.empty() && blank(text.back())) text.remove_suffix(1), again = true;
  }
  return text;
}

std::vector<std::string_view> lines_of(std::string_view text) {
  std::vector<std::string_view> lines;
  while (!text.empty()) {
    const auto end = text.find('\n');
    lines.push_back(text.substr(0, end));
    text.remove_prefix(end == std::string_view::npos ? text.size() : end + 1);
  }
  return lines;
}

bool is_signature(std::string_view line) {
  while (!line.empty() && line.back() == '\r') line.remove_suffix(1);
  return line == "-- " || line == "--";
}

// Where what is announced from `at` on begins to be quoted: a few lines, the last ending in a
// colon, and then a quoted one. `at` itself where it is no announcement.
std::size_t behind_announcement(const std::vector<std::string_view>& lines, std::size_t at) {
  std::size_t end = at;
  while (end < lines.size() && end - at < kAnnouncement && !trimmed(lines[end]).empty() &&
         trimmed(lines[end]).front() != '>')
    ++end;
  std::size_t quoted = end;
  while (quoted < lines.size() && trimmed(lines[quoted]).empty()) ++quoted;
  const bool announces = end > at && trimmed(lines[end - 1]).ends_with(':');
  const bool quotes = quoted < lines.size() && trimmed(lines[quoted]).starts_with('>');
  return announces && quotes ? quoted : at;
}

std::string lower(std::string_view text) {
  std::string out(text);
  for (char& c : out)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c + 32);
  return out;
}

std::vector<std::string> words_of(std::string_view line) {
  std::vector<std::string> words;
  std::string word;
  for (const char c : lower(line) + " ") {
    if (!blank(c)) {
      word += c;
    } else if (!word.empty()) {
      words.push_back(std::move(word));
      word.clear();
    }
  }
  return words;
}

// "45", "45min", with the unit as a word of its own or not said.
std::optional<double> minutes_of(const std::vector<std::string>& words) {
  std::string unit = words.size() > 2 ? words[2] : "";
  double number = 0;
  const std::string& text = words[1];
  const auto [end, error] =
      std::from_chars(text.data(), text.data() + text.size(), number, std::chars_format::fixed);
  if (error != std::errc()) return std::nullopt;
  const std::string glued(end, text.data() + text.size());
  if (!glued.empty() && !unit.empty()) return std::nullopt;
  if (!glued.empty()) unit = glued;
  for (const std::string_view known : {"", "m", "min", "mins", "minute", "minutes"})
    if (unit == known && number > 0 && number <= kMostMinutes) return number;
  return std::nullopt;
}

}  // namespace

std::string first_own_line(std::string_view text) {
  const auto lines = lines_of(text);
  for (std::size_t at = 0; at < lines.size(); ++at) {
    if (is_signature(lines[at])) return "";
    const std::string_view line = trimmed(lines[at]);
    if (line.empty() || line.front() == '>') continue;
    const std::size_t behind = behind_announcement(lines, at);
    if (behind == at) return std::string(line);
    at = behind;  // a quoted line
  }
  return "";
}

std::optional<ReplyWord> reply_word(std::string_view line) {
  line = trimmed(line);
  while (!line.empty() && (line.back() == '.' || line.back() == '!')) line.remove_suffix(1);
  // Mail programs write a no-break space for the second of two blanks, or for every one.
  std::string plain(line);
  for (auto at = plain.find("\xc2\xa0"); at != std::string::npos; at = plain.find("\xc2\xa0"))
    plain.replace(at, 2, " ");
  const auto words = words_of(plain);
  if (words.empty() || words.size() > 3) return std::nullopt;
  if (words[0] == "snooze") {
    if (words.size() == 1) return ReplyWord{Deed::snooze, std::nullopt};
    const auto minutes = minutes_of(words);
    if (!minutes) return std::nullopt;
    return ReplyWord{Deed::snooze, minutes};
  }
  if (words.size() != 1) return std::nullopt;
  if (words[0] == "ack" || words[0] == "acknowledge")
    return ReplyWord{Deed::acknowledge, std::nullopt};
  if (words[0] == "reset") return ReplyWord{Deed::reset, std::nullopt};
  if (words[0] == "status") return ReplyWord{};
  return std::nullopt;
}

}  // namespace clutchward
