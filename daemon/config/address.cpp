// Checks the form of addresses.
#include "config/address.h"

#include <arpa/inet.h>

#include <algorithm>
#include <array>

namespace clutchward {

namespace {

bool is_letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }
bool is_digit(char c) { return c >= '0' && c <= '9'; }

bool valid_port(std::string_view text) {
  if (text.empty() || text.size() > 5 || text[0] == '0') return false;
  if (!std::all_of(text.begin(), text.end(), is_digit)) return false;
  int port = 0;
  for (char c : text) port = port * 10 + (c - '0');
  return port <= 65535;
}

bool numeric(int family, std::string_view text) {
  std::array<unsigned char, sizeof(in6_addr)> address{};
  return text.size() < INET6_ADDRSTRLEN &&
         inet_pton(family, std::string(text).c_str(), address.data()) == 1;
}

// Labels of letters, digits, hyphens (and underscores, which home networks use), at most 253 bytes.
bool valid_host(std::string_view text) {
  if (text.empty() || text.size() > 253) return false;
  while (true) {
    const std::size_t dot = text.find('.');
    const std::string_view label = text.substr(0, dot);
    if (label.empty() || label.size() > 63 || label.front() == '-' || label.back() == '-') {
      return false;
    }
    const auto allowed = [](char c) { return is_letter(c) || is_digit(c) || c == '-' || c == '_'; };
    if (!std::all_of(label.begin(), label.end(), allowed)) return false;
    if (dot == std::string_view::npos) return true;
    text.remove_prefix(dot + 1);
  }
}

// Splits "host:port", "[address]:port" and the same without a port. False where the form is wrong.
bool split_port(std::string_view text, std::string_view& host, std::string_view& port) {
  port = {};
  std::size_t end = text.find(':');
  if (text.starts_with('[')) {
    const std::size_t bracket = text.find(']');
    if (bracket == std::string_view::npos) return false;
    host = text.substr(0, bracket + 1);
    end = bracket + 1;
    if (end == text.size()) return true;
    if (text[end] != ':') return false;
  } else {
    host = text.substr(0, end);
    if (end == std::string_view::npos) return true;
  }
  port = text.substr(end + 1);
  return valid_port(port);
}

bool valid_url_host(std::string_view host) {
  if (!host.starts_with('[')) return valid_host(host);
  return host.size() > 2 && numeric(AF_INET6, host.substr(1, host.size() - 2));
}

std::string schemes_text(const std::vector<std::string>& schemes) {
  std::string text;
  for (const std::string& scheme : schemes) text += (text.empty() ? "" : " or ") + scheme + "://";
  return text;
}

}  // namespace

std::string url_fault(std::string_view url, const std::vector<std::string>& schemes, bool path) {
  const auto visible = [](char c) { return c > 0x20 && c < 0x7F; };
  if (url.size() > 2000) return "at most 2000 bytes";
  if (!std::all_of(url.begin(), url.end(), visible)) {
    return "plain ASCII without blanks and control characters";
  }
  const std::size_t colon = url.find("://");
  if (colon == std::string_view::npos ||
      std::find(schemes.begin(), schemes.end(), url.substr(0, colon)) == schemes.end()) {
    return "a URL that begins with " + schemes_text(schemes);
  }
  const std::string_view rest = url.substr(colon + 3);
  const std::string_view authority = rest.substr(0, rest.find_first_of("/?#"));
  if (authority.find('@') != std::string_view::npos) {
    return "no user or password in it: all who see the configuration could read them";
  }
  std::string_view host;
  std::string_view port;
  if (!split_port(authority, host, port) || !valid_url_host(host)) {
    return "a host, and maybe a port from 1 to 65535, behind " + schemes_text(schemes);
  }
  if (!path && authority.size() != rest.size()) return "nothing behind the host and port";
  return "";
}

bool valid_email(std::string_view text) {
  const std::size_t at = text.find('@');
  if (at == std::string_view::npos || at == 0 || at > 64 || text.size() > 254) return false;
  const std::string_view local = text.substr(0, at);
  // The characters of an unquoted local part (RFC 5321, Dot-string; RFC 5322, atext).
  constexpr std::string_view kAtext = "!#$%&'*+-/=?^_`{|}~.";
  const auto allowed = [&](char c) {
    return is_letter(c) || is_digit(c) || kAtext.find(c) != std::string_view::npos;
  };
  if (!std::all_of(local.begin(), local.end(), allowed)) return false;
  if (local.front() == '.' || local.back() == '.') return false;
  if (local.find("..") != std::string_view::npos) return false;
  return valid_host(text.substr(at + 1));
}

bool valid_listen(std::string_view text) {
  std::string_view host;
  std::string_view port;
  if (!split_port(text, host, port) || port.empty()) return false;
  return host.starts_with('[') ? valid_url_host(host) : numeric(AF_INET, host);
}

bool valid_address(std::string_view text) {
  return numeric(AF_INET, text) || numeric(AF_INET6, text);
}

bool valid_header_name(std::string_view text) {
  constexpr std::string_view kToken = "!#$%&'*+-.^_`|~";
  return !text.empty() && text.size() <= 128 && std::all_of(text.begin(), text.end(), [&](char c) {
    return is_letter(c) || is_digit(c) || kToken.find(c) != std::string_view::npos;
  });
}

bool valid_header_value(std::string_view text) {
  return text.size() <= 4096 && std::all_of(text.begin(), text.end(), [](char c) {
           return (static_cast<unsigned char>(c) >= 0x20 || c == '\t') && c != 0x7F;
         });
}

}  // namespace clutchward
