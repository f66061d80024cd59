// A mail's bytes, by a stranger, to the values that are decided by. Parsing is GMime's and
// libxml2's; what is bounded and which part counts is decided here. Reads only.
#pragma once

#include <string>
#include <string_view>

#include "access/incoming_mail.h"
#include "base/result.h"

namespace clutchward {

// Refused: what is no mail, or one with more headers than a mail has. The text is that of the first
// plain part that is no attachment, else of the first HTML part; "" where there is neither.
Result<IncomingMail> read_mail(std::string_view bytes);

// The text of a page as a reader sees it, without what it quotes (<blockquote>), its scripts and
// styles. Blocks and <br> end lines.
std::string text_of_html(const std::string& html);

}  // namespace clutchward
