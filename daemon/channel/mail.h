// The whole mail of one message as RFC 5322 text: headers, a plain part and an HTML part that each
// say everything. Composes only; it sends nothing and reads no clock.
#pragma once

#include <string>

#include "base/result.h"
#include "notification/notification.h"

namespace clutchward {

struct MailAddresses {
  std::string from;  // "clutchward@saltmere.example" or "Clutchward <clutchward@saltmere.example>"
  std::string to;
};

// The bare address ("a@b") of a mailbox as people write it. Refused: control characters, anything
// outside ASCII, more or less than one mailbox; `what` ("smtp.from") opens the refusal.
Result<std::string> mail_address(const std::string& mailbox, const std::string& what);

// The mail with CRLF line ends throughout and 7-bit headers. Its Message-ID follows from the
// message's id alone, so a mail sent twice is recognised; messages of one thread refer to one root.
// Refused: an address that mail_address refuses. A control character in the first line is written
// as an escape, never passed on: a strange cabinet name must not keep an alarm from being told.
Result<std::string> compose_mail(const Notification& message, const std::string& site,
                                 const MailAddresses& addresses);

// The HTML part: readable on a phone in light and dark, without pictures, scripts or links that are
// not in the message itself. Everything that comes from outside is escaped.
std::string mail_html(const Notification& message, const std::string& site);

// The plain part: the message, opened by the first line where it does not open with it already.
std::string mail_text(const Notification& message, const std::string& site);

}  // namespace clutchward
