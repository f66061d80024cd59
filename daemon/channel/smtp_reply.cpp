// Judges a mail server's answers. Looks at codes only; the words go into the detail for people.
#include "channel/smtp_reply.h"

#include <algorithm>
#include <string_view>

#include "base/text.h"

namespace clutchward {
namespace {

// The reply code of a line ("550 no", "250-SIZE"), or 0.
int code_of(std::string_view line) {
  if (line.size() < 3 || (line.size() > 3 && line[3] != ' ' && line[3] != '-')) return 0;
  int code = 0;
  for (const char c : line.substr(0, 3)) {
    if (c < '0' || c > '9') return 0;
    code = code * 10 + (c - '0');
  }
  return code;
}

}  // namespace

Carried judge_smtp(CURLcode code, const std::vector<std::string>& lines, const std::string& why) {
  // The farewell says nothing of the mail. A refusal that is not the last word was no refusal: the
  // next way to log in, say, was taken instead.
  std::string_view answer;
  for (const std::string& line : lines)
    if (code_of(line) != 0 && code_of(line) != 221) answer = line;
  const int reply = code_of(answer);
  if (code == CURLE_OK) return {Outcome::delivered, printable(answer), std::nullopt};
  if (code == CURLE_URL_MALFORMAT || code == CURLE_UNSUPPORTED_PROTOCOL)
    return {Outcome::failed, "smtp.url: expected smtp://host[:port] or smtps://host[:port]",
            std::nullopt};
  if (code == CURLE_SSL_CACERT_BADFILE)
    return {Outcome::failed, "smtp.ca_file cannot be read", std::nullopt};
  if (code == CURLE_USE_SSL_FAILED && reply < 400)
    return {Outcome::try_again, "the server offers no STARTTLS, and mail is not sent in clear",
            std::nullopt};
  if (reply < 400) {
    std::string detail = why;
    if (!answer.empty()) detail += " (last answer: " + printable(answer, 120) + ")";
    return {Outcome::try_again, detail, std::nullopt};
  }
  if (reply == 535)
    return {Outcome::failed, "the password was refused: " + printable(answer, 160), std::nullopt};
  return {reply >= 500 ? Outcome::failed : Outcome::try_again, printable(answer), std::nullopt};
}

}  // namespace clutchward
