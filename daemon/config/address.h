// Addresses of other machines and people, checked by their form alone: nothing is looked up or
// connected to.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace clutchward {

// What is expected of `url` in place of what it is ("" where it can stand): one of `schemes`
// ("mqtt"), "://", a host (a name, an IPv4 address or an IPv6 address in brackets), maybe a port; a
// path only where `path` says so. No user or password in it: they would be read by all who see the
// configuration.
std::string url_fault(std::string_view url, const std::vector<std::string>& schemes, bool path);

// local@domain in plain ASCII, without quotes, comments and blanks; at most 254 bytes (RFC 5321,
// section 4.5.3.1.3, less the angle brackets).
bool valid_email(std::string_view text);

// "127.0.0.1:8742" or "[::1]:8742": a numeric address and a port from 1 to 65535.
bool valid_listen(std::string_view text);

// "127.0.0.1" or "::1": numeric, without brackets and port.
bool valid_address(std::string_view text);

// A header's name: a token of RFC 9110, section 5.6.2.
bool valid_header_name(std::string_view text);

// Nothing below a blank but tabs, no DEL: what may stand in a header's value (RFC 9110, 5.5).
bool valid_header_value(std::string_view text);

}  // namespace clutchward
