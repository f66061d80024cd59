// What a mail server's answers mean for the message: taken, worth another try, or of no use.
#pragma once

#include <curl/curl.h>

#include <string>
#include <vector>

#include "channel/carrier.h"

namespace clutchward {

// `lines` are the server's lines in order. The last 4xx answer means try_again, the last 5xx failed
// (RFC 5321 section 4.2, from memory); without either, what went wrong lay on the way: try_again.
// An unknown outcome after the final dot is try_again too: of an alarm two are better than none.
Carried judge_smtp(CURLcode code, const std::vector<std::string>& lines, const std::string& why);

}  // namespace clutchward
