// RFC 6901 JSON pointers as they are written in configurations: what a token is and whether the
// text is a pointer at all. Knows no JSON parser.
#pragma once

#include <cstddef>
#include <optional>
#include <string_view>

namespace clutchward {

// True for "" and for what begins with '/' and holds '~' only as ~0 and ~1.
bool valid_pointer(std::string_view pointer);

// Takes the first token, still escaped, off a pointer that is not empty. None if it does not begin
// with '/'.
std::optional<std::string_view> take_token(std::string_view& pointer);

// Whether the escaped `token` names `key` (~1 is '/', ~0 is '~').
bool token_is(std::string_view token, std::string_view key);

// The array index that `token` is: digits without leading zeros. None otherwise, "-" included.
std::optional<std::size_t> token_index(std::string_view token);

}  // namespace clutchward
