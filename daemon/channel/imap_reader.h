// What a mail server says, cut into lines with the blocks of bytes ("literals", RFC 3501, section
// 4.3) that they hold. Bytes in, lines out; bounded, whatever the server or a mail in it says.
#pragma once

#include <cstdint>
#include <deque>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace clutchward {

struct ImapLine {
  std::string text;  // without line ends; a literal's "{103}" stays in it
  std::vector<std::string> literals;
};

class ImapReader {
 public:
  // False once the server said more than it may; nothing is read any more then.
  bool feed(std::string_view bytes);
  std::optional<ImapLine> next();

 private:
  bool end_of_line();

  std::string line_;         // of the line under way, its last part
  ImapLine whole_;           // of the line under way, what is complete
  std::size_t literal_ = 0;  // bytes of it still to come
  std::size_t bytes_ = 0;    // of the line under way
  std::deque<ImapLine> finished_;
  std::size_t finished_bytes_ = 0;
  bool broken_ = false;
};

// The number behind a word, as in "[UIDVALIDITY 1795645614]" or "UID 7"; none where it is not
// there.
std::optional<std::uint32_t> imap_number(std::string_view line, std::string_view word);

// "* SEARCH 4 17": the numbers; none for any other line.
std::optional<std::vector<std::uint32_t>> imap_search(std::string_view line);

// "* 18 EXISTS"
bool imap_exists(std::string_view line);

}  // namespace clutchward
