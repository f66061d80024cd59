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
  std::string_view answer;   // the last that says no, else the last that says anything
  std::string_view refusal;
  for (const std::string& line : lines) {
    const int reply = code_of(line);
    if (reply == 221) continue;  // the farewell says nothing of the mail
    if (reply != 0) answer = line;
    if (reply >= 400) refusal = line;
  }
  if (code == CURLE_OK) return {Outcome::delivered, printable(answer), std::nullopt};
  if (code == CURLE_URL_MALFORMAT || code == CURLE_UNSUPPORTED_PROTOCOL)
    return {Outcome::failed, "smtp.url: expected smtp://host[:port] or smtps://host[:port]",
            std::nullopt};
  if (code == CURLE_SSL_CACERT_BADFILE)
    return {Outcome::failed, "smtp.ca_file cannot be read", std::nullopt};
  if (refusal.empty()) {
    std::string detail = why;
    if (!answer.empty()) detail += " (last answer: " + printable(answer, 120) + ")";
    return {Outcome::try_again, detail, std::nullopt};
  }
  const int reply = code_of(refusal);
  if (reply == 535)
    return {Outcome::failed, "the password was refused: " + printable(refusal, 160), std::nullopt};
  return {reply >= 500 ? Outcome::failed : Outcome::try_again, printable(refusal), std::nullopt};
}

}  // namespace clutchward
