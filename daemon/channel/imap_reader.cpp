// Cuts by counted bytes inside a literal and by line ends outside: nothing that stands in a mail
// can look like an answer of the server.
#include "channel/imap_reader.h"

#include <algorithm>
#include <charconv>
#include <utility>

#include "base/limits.h"

namespace clutchward {
namespace {

std::optional<std::uint32_t> whole(std::string_view text) {
  std::uint32_t value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (text.empty() || error != std::errc() || end != text.data() + text.size()) return std::nullopt;
  return value;
}

// "... {103}" or "... {103+}": 103.
std::optional<std::uint32_t> literal_at_end(std::string_view line) {
  if (!line.ends_with('}')) return std::nullopt;
  const auto open = line.rfind('{');
  if (open == std::string_view::npos) return std::nullopt;
  std::string_view digits = line.substr(open + 1, line.size() - open - 2);
  if (digits.ends_with('+')) digits.remove_suffix(1);
  return whole(digits);
}

bool same_word(char a, char b) {
  const auto upper = [](char c) { return c >= 'a' && c <= 'z' ? static_cast<char>(c - 32) : c; };
  return upper(a) == upper(b);
}

// Servers may write their words in any case.
std::size_t find_word(std::string_view line, std::string_view word) {
  const auto found = std::search(line.begin(), line.end(), word.begin(), word.end(), same_word);
  return found == line.end() ? std::string_view::npos
                             : static_cast<std::size_t>(found - line.begin());
}

}  // namespace

bool ImapReader::feed(std::string_view bytes) {
  while (!bytes.empty() && !broken_) {
    if (literal_ > 0) {
      const std::size_t part = std::min(literal_, bytes.size());
      whole_.literals.back().append(bytes.substr(0, part));
      literal_ -= part;
      bytes.remove_prefix(part);
      continue;
    }
    const auto end = bytes.find('\n');
    const std::string_view part = bytes.substr(0, end);
    line_ += part;
    bytes_ += part.size();
    bytes.remove_prefix(end == std::string_view::npos ? bytes.size() : end + 1);
    if (bytes_ > limits::kImapLineBytes || (end != std::string_view::npos && !end_of_line()))
      broken_ = true;
  }
  return !broken_;
}

// False: the line asks for more than a line may.
bool ImapReader::end_of_line() {
  if (line_.ends_with('\r')) line_.pop_back();
  whole_.text += line_;
  if (const auto size = literal_at_end(line_)) {
    std::size_t all = *size;
    for (const std::string& each : whole_.literals) all += each.size();
    if (all > limits::kMailBytes) return false;
    whole_.literals.emplace_back();
    literal_ = *size;
    line_.clear();
    return true;
  }
  line_.clear();
  bytes_ = 0;
  finished_bytes_ += whole_.text.size();
  for (const std::string& each : whole_.literals) finished_bytes_ += each.size();
  if (finished_bytes_ > limits::kImapAnswerBytes) return false;
  finished_.push_back(std::exchange(whole_, {}));
  return true;
}

std::optional<ImapLine> ImapReader::next() {
  if (finished_.empty()) return std::nullopt;
  ImapLine line = std::move(finished_.front());
  finished_.pop_front();
  finished_bytes_ -= line.text.size();
  for (const std::string& each : line.literals) finished_bytes_ -= each.size();
  return line;
}

std::optional<std::uint32_t> imap_number(std::string_view line, std::string_view word) {
  const auto at = find_word(line, std::string(word) + " ");
  if (at == std::string_view::npos) return std::nullopt;
  if (at > 0 && line[at - 1] != ' ' && line[at - 1] != '(' && line[at - 1] != '[')
    return std::nullopt;
  line.remove_prefix(at + word.size() + 1);
  return whole(line.substr(0, line.find_first_not_of("0123456789")));
}

std::optional<std::vector<std::uint32_t>> imap_search(std::string_view line) {
  constexpr std::string_view kBefore = "* SEARCH";
  if (find_word(line, kBefore) != 0) return std::nullopt;
  line.remove_prefix(kBefore.size());
  std::vector<std::uint32_t> numbers;
  while (!line.empty()) {
    const auto begin = line.find_first_not_of(' ');
    if (begin == std::string_view::npos) break;
    line.remove_prefix(begin);
    const auto number = whole(line.substr(0, line.find(' ')));
    if (!number) break;
    numbers.push_back(*number);
    line.remove_prefix(std::min(line.find(' '), line.size()));
  }
  return numbers;
}

bool imap_exists(std::string_view line) {
  constexpr std::string_view kWord = " EXISTS";
  return line.starts_with("* ") && line.size() > kWord.size() &&
         find_word(line, kWord) == line.size() - kWord.size();
}

}  // namespace clutchward
