// One UTF-8 character at a time, strictly as RFC 3629 has it: no surrogates, no overlong forms,
// nothing past U+10FFFF. For text.cpp and ascii.cpp; other rooms ask valid_utf8().
#pragma once

#include <cstddef>
#include <string_view>

namespace clutchward::utf8 {

struct Character {
  char32_t code = 0;
  std::size_t bytes = 0;  // 0: the first byte begins no character
};

// The first character of `text`, which must not be empty.
Character first(std::string_view text);

}  // namespace clutchward::utf8
