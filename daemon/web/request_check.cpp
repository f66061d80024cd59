// Checks on requests.
#include "web/request_check.h"

#include <arpa/inet.h>

#include <algorithm>
#include <charconv>

#include "base/limits.h"
#include "base/text.h"

namespace clutchward {
namespace {

bool same_name(std::string_view left, std::string_view right) {
  const auto lower = [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c; };
  return std::equal(left.begin(), left.end(), right.begin(), right.end(),
                    [&](char a, char b) { return lower(a) == lower(b); });
}

std::vector<std::string> values_of(const Headers& headers, std::string_view name) {
  std::vector<std::string> values;
  for (const auto& [each, value] : headers)
    if (same_name(each, name)) values.push_back(value);
  return values;
}

bool all_digits(std::string_view text) {
  return !text.empty() &&
         std::all_of(text.begin(), text.end(), [](char c) { return c >= '0' && c <= '9'; });
}

bool is_address(const std::string& host) {
  in6_addr unused{};
  return ::inet_pton(AF_INET, host.c_str(), &unused) == 1 ||
         ::inet_pton(AF_INET6, host.c_str(), &unused) == 1;
}

int hex(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  return -1;
}

// ":8742"
bool is_port(std::string_view text) {
  return text.starts_with(':') && text.size() <= 6 && all_digits(text.substr(1));
}

// "[::1]:8742" -> "::1", "localhost" -> "localhost"; "" where it cannot be a host.
std::string host_name(const std::string& value) {
  if (value.starts_with('[')) {
    const auto end = value.find(']');
    if (end == std::string::npos) return {};
    const std::string rest = value.substr(end + 1);
    if (!rest.empty() && !is_port(rest)) return {};
    return value.substr(1, end - 1);
  }
  const auto colon = value.find(':');
  if (colon != std::string::npos && !is_port(std::string_view(value).substr(colon))) return {};
  return value.substr(0, colon);
}

}  // namespace

std::optional<Answer> framing_fault(const Headers& headers, std::size_t& length) {
  length = 0;
  if (!values_of(headers, "Transfer-Encoding").empty())
    return sentence(400, "Transfer-Encoding is not taken here; send Content-Length.");
  const auto lengths = values_of(headers, "Content-Length");
  if (lengths.empty()) return std::nullopt;
  if (lengths.size() > 1) return sentence(400, "Content-Length stands more than once.");
  const std::string& digits = lengths.front();
  const auto [end, error] = std::from_chars(digits.data(), digits.data() + digits.size(), length);
  if (!all_digits(digits) || error != std::errc() || end != digits.data() + digits.size())
    return sentence(400, "Content-Length is no number of bytes.");
  return std::nullopt;
}

std::optional<Answer> host_fault(const Headers& headers, const std::vector<std::string>& own) {
  const auto hosts = values_of(headers, "Host");
  if (hosts.size() != 1) return sentence(400, "A request names its Host exactly once.");
  const std::string host = host_name(hosts.front());
  const auto ours = [&](const std::string& each) { return !each.empty() && same_name(host, each); };
  if (is_address(host) || same_name(host, "localhost") || std::any_of(own.begin(), own.end(), ours))
    return std::nullopt;
  return sentence(421, "Host is \"" + printable(hosts.front(), 80) +
                           "\"; expected an IP address or localhost.");
}

std::string_view Request::header(std::string_view name) const {
  std::string_view found;
  int count = 0;
  for (const auto& [each, value] : headers)
    if (same_name(each, name)) {
      found = value;
      ++count;
    }
  return count == 1 ? found : std::string_view();
}

std::string_view Request::parameter(std::string_view name) const {
  for (const auto& [each, value] : query)
    if (each == name) return value;
  return {};
}

std::optional<Fields> decoded_form(std::string_view text) {
  Fields fields;
  while (!text.empty()) {
    const std::string_view pair = text.substr(0, text.find('&'));
    text.remove_prefix(std::min(pair.size() + 1, text.size()));
    if (pair.empty()) continue;
    std::string plain(pair);
    std::replace(plain.begin(), plain.end(), '+', ' ');
    const auto equals = plain.find('=');
    auto name = decoded_path(std::string_view(plain).substr(0, equals));
    auto value =
        decoded_path(equals == std::string::npos ? std::string_view()
                                                 : std::string_view(plain).substr(equals + 1));
    if (!name || !value || fields.size() >= limits::kFormFields) return std::nullopt;
    fields.emplace_back(std::move(*name), std::move(*value));
  }
  return fields;
}

std::optional<std::string> decoded_path(std::string_view path) {
  std::string out;
  for (std::size_t i = 0; i < path.size(); ++i) {
    if (path[i] != '%') {
      out += path[i];
      continue;
    }
    const int high = i + 2 < path.size() ? hex(path[i + 1]) : -1;
    const int low = i + 2 < path.size() ? hex(path[i + 2]) : -1;
    if (high < 0 || low < 0) return std::nullopt;
    out += static_cast<char>(high * 16 + low);
    i += 2;
  }
  if (out.find('\0') != std::string::npos || !valid_utf8(out)) return std::nullopt;
  return out;
}

}  // namespace clutchward
