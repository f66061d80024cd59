// RFC 6901 sections 3 and 4. A token is compared escaped as it stands, so that following a pointer
// takes no memory.
#include "reading/pointer.h"

#include <charconv>

namespace clutchward {

bool valid_pointer(std::string_view pointer) {
  if (!pointer.empty() && pointer.front() != '/') return false;
  for (std::size_t i = 0; i < pointer.size(); ++i) {
    if (pointer[i] != '~') continue;
    if (i + 1 == pointer.size() || (pointer[i + 1] != '0' && pointer[i + 1] != '1')) return false;
  }
  return true;
}

std::optional<std::string_view> take_token(std::string_view& pointer) {
  if (pointer.empty() || pointer.front() != '/') return std::nullopt;
  pointer.remove_prefix(1);
  const std::string_view token = pointer.substr(0, pointer.find('/'));
  pointer.remove_prefix(token.size());
  return token;
}

bool token_is(std::string_view token, std::string_view key) {
  std::size_t at = 0;
  for (const char c : key) {
    if (at == token.size()) return false;
    char written = token[at++];
    if (written == '~') {
      if (at == token.size()) return false;
      const char escape = token[at++];
      if (escape != '0' && escape != '1') return false;
      written = escape == '1' ? '/' : '~';
    }
    if (written != c) return false;
  }
  return at == token.size();
}

std::optional<std::size_t> token_index(std::string_view token) {
  if (token.empty() || (token.size() > 1 && token.front() == '0')) return std::nullopt;
  if (token.front() < '0' || token.front() > '9') return std::nullopt;
  std::size_t index = 0;
  const char* const end = token.data() + token.size();
  const auto [rest, fault] = std::from_chars(token.data(), end, index);
  if (fault != std::errc() || rest != end) return std::nullopt;
  return index;
}

}  // namespace clutchward
