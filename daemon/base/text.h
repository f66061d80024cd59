// Text helpers that every room needs: escaping what strangers sent, nearest known word, numbers.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace clutchward {

// Thousandths of a quantity's unit: degrees Celsius, percent relative humidity. Whole numbers, so
// that a value on the limit is on the limit.
using Milli = std::int32_t;

// The known word nearest to `word` by edit distance (at most a third of its length, at least 1),
// or "" where none is near.
std::string nearest_word(std::string_view word, const std::vector<std::string>& known);

// Control characters, quotes and bytes that are not UTF-8 written as escapes, cut to `limit` bytes
// (an ellipsis says so): safe in a log line, a header and a message.
std::string printable(std::string_view text, std::size_t limit = 200);

// Plain ASCII: accented Latin letters folded to their base letter, the degree sign dropped,
// anything else that is not ASCII replaced by '?'.
std::string to_ascii(std::string_view text);

// 39800 -> "39.8", -500 -> "-0.5", 37000 -> "37.0" with `decimals` 1: rounded half away from zero.
std::string milli_text(std::int64_t value, int decimals);

// 39800 -> "39.8", 37000 -> "37", 37750 -> "37.75": the shortest exact decimal.
std::string milli_exact(std::int64_t value);

bool valid_utf8(std::string_view text);

// True for what may stand as the id of a cabinet, batch, probe or rule: 1 to 64 bytes of UTF-8
// without control characters, blanks, '/', '+' and '#' (they would break topics and file names).
bool valid_id(std::string_view text);

}  // namespace clutchward
