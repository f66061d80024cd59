// Signs of automatic mail: the headers of RFC 3834 and RFC 2369, a bounce's empty return path, and
// what programs of before those wrote (from memory).
#include "access/incoming_mail.h"

#include <algorithm>
#include <array>

namespace clutchward {
namespace {

std::string lower(std::string_view text) {
  std::string out(text);
  for (char& c : out)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c + 32);
  return out;
}

std::string_view trimmed(std::string_view text) {
  const auto begin = text.find_first_not_of(" \t\r\n");
  if (begin == std::string_view::npos) return {};
  return text.substr(begin, text.find_last_not_of(" \t\r\n") - begin + 1);
}

constexpr std::array<std::string_view, 8> kRobots = {"mailer-daemon", "postmaster",   "no-reply",
                                                     "noreply",       "do-not-reply", "donotreply",
                                                     "autoresponder", "listserv"};
// Present with any value.
constexpr std::array<std::string_view, 5> kOnlyRobots = {
    "x-autoreply", "x-autorespond", "x-autoresponse", "x-failed-recipients", "feedback-type"};

std::string sign_of(const std::string& name, const std::string& value) {
  const std::string said = lower(trimmed(value));
  const std::string word = said.substr(0, said.find_first_of(" ;\t("));
  if (name == "auto-submitted" && word != "no") return "Auto-Submitted";
  if (name == "precedence" && word != "first-class" && word != "normal" && !word.empty())
    return "Precedence: " + word;
  if (name.starts_with("list-")) return "of a mailing list";
  if (name == "return-path" && said.find_first_not_of("<> \t") == std::string::npos)
    return "an empty return path";
  if (name == "content-type" &&
      (word == "multipart/report" || word == "message/delivery-status" || word == "text/calendar"))
    return word;
  if (std::find(kOnlyRobots.begin(), kOnlyRobots.end(), name) != kOnlyRobots.end()) return name;
  return "";
}

}  // namespace

std::string automatic_sign(const IncomingMail& mail) {
  for (const auto& [name, value] : mail.headers)
    if (std::string sign = sign_of(name, value); !sign.empty()) return sign;
  for (const std::string& from : mail.from) {
    const std::string local = lower(from.substr(0, from.rfind('@')));
    if (std::find(kRobots.begin(), kRobots.end(), local) != kRobots.end()) return "from " + local;
  }
  return "";
}

bool same_mailbox(std::string_view one, std::string_view other) {
  return !one.empty() && lower(one) == lower(other);
}

}  // namespace clutchward
