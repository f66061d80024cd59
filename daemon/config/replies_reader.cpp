// Reads where replies by mail come in.
#include "config/replies_reader.h"

#include <algorithm>

#include "config/address.h"
#include "config/file_check.h"
#include "config/values.h"

namespace clutchward {
namespace {

constexpr Span kShortest = std::chrono::seconds{10};
// 64 bytes stand before the '@' (RFC 5321, section 4.5.3.1.1), and 27 of them are "+" and the
// token.
constexpr std::size_t kLocalBytes = 64 - 27;

// "" where replies can be told apart by what stands behind a '+'.
std::string address_fault(const std::string& address) {
  const std::string local = address.substr(0, address.rfind('@'));
  if (local.find('+') != std::string::npos) return "an address without '+', which parts our token";
  if (local.size() > kLocalBytes)
    return "an address with at most " + std::to_string(kLocalBytes) + " bytes before the '@'";
  return "";
}

void read_address(const Section& section, const SmtpSettings& smtp, RepliesSettings& replies) {
  replies.address = smtp.from;
  if (const auto field = section.find("address")) {
    if (!field->is_word() || !valid_email(field->node.text)) {
      field->fault("an address such as clutchward@saltmere.example");
      return;
    }
    replies.address = field->node.text;
    const std::string why = address_fault(replies.address);
    if (!why.empty()) field->fault(why);
  } else if (const std::string why = address_fault(smtp.from); !why.empty()) {
    section.field().refuse(section.path("address") + " is missing, and smtp.from is \"" +
                           smtp.from + "\"; expected " + why);
  }
}

std::optional<std::string> read_folder(const Field& field) {
  const std::string expected = "the name of a mailbox in plain ASCII, such as INBOX";
  const auto text = read_text(field, expected, 100);
  if (!text) return std::nullopt;
  const bool plain = std::all_of(text->begin(), text->end(), [](char c) {
    return c >= 0x20 && c < 0x7f && std::string_view("\"\\*%&").find(c) == std::string_view::npos;
  });
  if (plain) return text;
  field.fault(expected);
  return std::nullopt;
}

}  // namespace

std::optional<RepliesSettings> read_replies(const Field& field, const SmtpSettings& smtp) {
  if (field.is_off()) return std::nullopt;
  const Section section(field,
                        {"imap", "user", "password_file", "ca_file", "folder", "address", "every"});
  if (!section) return std::nullopt;
  RepliesSettings replies;
  if (smtp.from.empty())
    field.refuse(field.path +
                 " stands without smtp; expected smtp with url and from, by which a "
                 "reply is answered");
  if (const auto url = section.need("imap", "a URL such as imaps://mail.saltmere.example"))
    replies.imap = read_url(*url, {"imap", "imaps"}, false);
  if (const auto user = section.need("user", "a user"))
    replies.user = read_text(*user, "a user").value_or("");
  if (const auto file = section.need("password_file", "the name of a file"))
    replies.password_file = read_file_name(*file, Content::secret).value_or("");
  if (const auto file = section.find("ca_file"))
    replies.ca_file = read_file_name(*file, Content::open_to_all).value_or("");
  if (const auto folder = section.find("folder"))
    replies.folder = read_folder(*folder).value_or(replies.folder);
  read_address(section, smtp, replies);
  if (const auto every = section.find("every")) {
    replies.every = read_span(*every, Zero::refused).value_or(replies.every);
    if (replies.every < kShortest) every->fault("a span of at least 10s, such as 1min");
  }
  return replies;
}

}  // namespace clutchward
