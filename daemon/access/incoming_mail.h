// A mail that came in, as far as it matters to whoever decides about it: plain values, bounded by
// whoever read them, everything in it written by a stranger.
#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace clutchward {

struct IncomingMail {
  std::string id;                    // its Message-ID without angle brackets; "" : none
  std::vector<std::string> from;     // bare addresses
  std::vector<std::string> to;       // of To and Cc, bare
  std::vector<std::string> answers;  // ids that In-Reply-To and References name
  std::vector<std::pair<std::string, std::string>> headers;  // names in lower case, unfolded
  std::string text;                                          // what it says, as plain text
  bool operator==(const IncomingMail&) const = default;
};

// What shows that no person wrote it now (RFC 3834, section 2: such a mail is never answered), in a
// few words for the log; "" where nothing does.
std::string automatic_sign(const IncomingMail& mail);

// The same mailbox: letters of either case are the same.
bool same_mailbox(std::string_view one, std::string_view other);

}  // namespace clutchward
