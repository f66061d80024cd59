// Message ids that mail programs take.
#include "notification/mail_id.h"

namespace clutchward {

std::string mail_id(std::string_view message_id, std::string_view domain) {
  constexpr std::string_view kHex = "0123456789abcdef";
  std::string id;
  for (const char c : message_id) {
    const auto byte = static_cast<unsigned char>(c);
    if ((c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-') {
      id += c;
    } else {
      id += '_';
      id += kHex[byte >> 4];
      id += kHex[byte & 15];
    }
  }
  return id.append("@").append(domain);
}

std::string domain_of(std::string_view address) {
  const auto at = address.rfind('@');
  return at == std::string_view::npos ? "" : std::string(address.substr(at + 1));
}

}  // namespace clutchward
