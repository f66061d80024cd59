// What a web server's answer means for the message: taken, worth another try, or of no use.
// Redirects are never followed, so a redirect is a refusal.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "channel/carrier.h"

namespace clutchward {

// 2xx delivered; 408, 425, 429 and 5xx try_again; every other status failed.
Outcome outcome_of_status(long status);

// The wait that the header lines of a reply ask for by Retry-After (seconds, or an HTTP date
// against the reply's own Date, and `now` where it has none), from 0 to 24 h; nothing without a
// readable one.
std::optional<Span> retry_after(const std::vector<std::string>& header_lines, Wall now);

// "Sun, 06 Nov 1994 08:49:37 GMT", the one form that senders may write (RFC 9110, from memory).
std::optional<Wall> parse_http_date(std::string_view text);

}  // namespace clutchward
