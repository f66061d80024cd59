// What is refused before a request reaches the routes: framing that two programs could read
// differently, and hosts that a foreign page made a browser believe in.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "web/exchange.h"

namespace clutchward {

// None where the framing is plain: no Transfer-Encoding, at most one Content-Length, all digits
// (RFC 9112, section 6.3); Content-Length is left in `length`.
std::optional<Answer> framing_fault(const Headers& headers, std::size_t& length);

// None where Host is one IP address, "localhost" or one of `own`: the host listened at, that of the
// page's public address. A name that a stranger's name server points at this machine is refused
// (DNS rebinding).
std::optional<Answer> host_fault(const Headers& headers, const std::vector<std::string>& own);

// "name=Setter+A&minutes=30" -> pairs, in order. None for broken escapes, NUL, text that is no
// UTF-8 and more than limits::kFormFields fields.
using Fields = std::vector<std::pair<std::string, std::string>>;
std::optional<Fields> decoded_form(std::string_view text);

// "/api/cabinets/setter%20a" -> "/api/cabinets/setter a". None for broken escapes, NUL and text
// that is no UTF-8.
std::optional<std::string> decoded_path(std::string_view path);

}  // namespace clutchward
