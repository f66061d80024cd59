// What a reply by mail says: its first own line, and the word that stands there. Pure text; whether
// the reply may say it is decided in reply_book.h.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "engine/command.h"

namespace clutchward {

// The first line that the writer wrote himself, without blanks at its ends: quoted lines ("> "),
// the line that announces them ("On ... wrote:") and everything from a signature ("-- ") on are
// passed over. "" where there is none.
std::string first_own_line(std::string_view text);

struct ReplyWord {
  std::optional<Deed> deed;  // acknowledge, snooze or reset; none: status
  std::optional<double> minutes;
  bool operator==(const ReplyWord&) const = default;
};

// "ack", "acknowledge", "snooze", "snooze 45", "snooze 45 min", "reset", "status", in any case of
// letters, with or without a full stop behind it. None for any other line: a word inside a sentence
// is no order.
std::optional<ReplyWord> reply_word(std::string_view line);

}  // namespace clutchward
