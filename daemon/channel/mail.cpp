// Composes mails with GMime. What GMime does not decide (which headers, which ids, line ends) is
// decided here; encoding of headers and parts is left to it.
#include "channel/mail.h"

#include <glib.h>
#include <gmime/gmime.h>

#include <algorithm>
#include <memory>

#include "base/text.h"
#include "channel/gmime_door.h"
#include "notification/mail_id.h"

namespace clutchward {
namespace {

bool has_control(std::string_view text) {
  return std::any_of(text.begin(), text.end(), [](char c) {
    const auto byte = static_cast<unsigned char>(c);
    return byte < 0x20 || byte == 0x7f;
  });
}

std::string header_text(const std::string& text) {
  return has_control(text) || !valid_utf8(text) ? printable(text) : text;
}

// "Saltmere" -> saltmere.clutchward.<domain>; for people's mail filters.
std::string list_id(const std::string& site, const std::string& domain) {
  std::string label;
  for (const char c : to_ascii(site)) {
    const char lower = c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c;
    const bool plain = (lower >= 'a' && lower <= 'z') || (lower >= '0' && lower <= '9');
    if (plain) label += lower;
    if (!plain && !label.empty() && label.back() != '-') label += '-';
  }
  while (!label.empty() && label.back() == '-') label.pop_back();
  return "<" + (label.empty() ? "" : label + ".") + "clutchward." + domain + ">";
}

Owned<GMimePart> text_part(const char* subtype, const std::string& text) {
  Owned<GMimeTextPart> part(g_mime_text_part_new_with_subtype(subtype));
  g_mime_text_part_set_charset(part.get(), "utf-8");
  Owned<GMimeStream> stream(g_mime_stream_mem_new_with_buffer(text.data(), text.size()));
  Owned<GMimeDataWrapper> content(
      g_mime_data_wrapper_new_with_stream(stream.get(), GMIME_CONTENT_ENCODING_DEFAULT));
  auto* mime_part = GMIME_PART(part.release());
  g_mime_part_set_content(mime_part, content.get());
  g_mime_part_set_content_encoding(mime_part, GMIME_CONTENT_ENCODING_QUOTEDPRINTABLE);
  return Owned<GMimePart>(mime_part);
}

void add_body(GMimeMessage* mail, const Notification& message, const std::string& site) {
  Owned<GMimeMultipart> both(g_mime_multipart_new_with_subtype("alternative"));
  const Owned<GMimePart> plain = text_part("plain", mail_text(message, site));
  const Owned<GMimePart> html = text_part("html", mail_html(message, site));
  g_mime_multipart_add(both.get(), GMIME_OBJECT(plain.get()));
  g_mime_multipart_add(both.get(), GMIME_OBJECT(html.get()));
  g_mime_message_set_mime_part(mail, GMIME_OBJECT(both.get()));
}

void set_date(GMimeMessage* mail, Wall at) {
  const auto seconds = std::chrono::floor<std::chrono::seconds>(at).time_since_epoch().count();
  GDateTime* date = g_date_time_new_from_unix_utc(seconds);
  if (date == nullptr) return;
  g_mime_message_set_date(mail, date);
  g_date_time_unref(date);
}

std::string written(GMimeMessage* mail) {
  GMimeFormatOptions* format = g_mime_format_options_new();
  g_mime_format_options_set_newline_format(format, GMIME_NEWLINE_FORMAT_DOS);
  char* text = g_mime_object_to_string(GMIME_OBJECT(mail), format);
  std::string copy = text;
  g_free(text);
  g_mime_format_options_free(format);
  return copy;
}

struct Mailbox {
  std::string name;
  std::string address;
};

Result<Mailbox> parse_mailbox(const std::string& text, const std::string& what) {
  const Refusal refusal{what + ": " + printable(text) +
                        " is not a mail address: expected name@host"};
  if (has_control(text)) return refusal;
  if (std::any_of(text.begin(), text.end(), [](char c) { return (c & 0x80) != 0; })) return refusal;
  Owned<InternetAddressList> list(internet_address_list_parse(nullptr, text.c_str()));
  if (list == nullptr || internet_address_list_length(list.get()) != 1) return refusal;
  InternetAddress* first = internet_address_list_get_address(list.get(), 0);
  if (!INTERNET_ADDRESS_IS_MAILBOX(first)) return refusal;
  const char* name = internet_address_get_name(first);
  const char* address = internet_address_mailbox_get_addr(INTERNET_ADDRESS_MAILBOX(first));
  const std::string bare = address == nullptr ? "" : address;
  const auto at = bare.rfind('@');
  if (at == std::string::npos || at == 0 || at + 1 == bare.size() ||
      bare.find_first_of(" \t<>(),;\\\"") != std::string::npos)
    return refusal;
  return Mailbox{name == nullptr ? "" : name, bare};
}

}  // namespace

Result<std::string> mail_address(const std::string& mailbox, const std::string& what) {
  const auto inside = enter_gmime();
  const Result<Mailbox> parsed = parse_mailbox(mailbox, what);
  if (!parsed) return Refusal{parsed.why()};
  return parsed->address;
}

Result<std::string> compose_mail(const Notification& message, const std::string& site,
                                 const MailAddresses& addresses) {
  const auto inside = enter_gmime();
  const Result<Mailbox> from = parse_mailbox(addresses.from, "smtp.from");
  if (!from) return Refusal{from.why()};
  const Result<Mailbox> to = parse_mailbox(addresses.to, "email");
  if (!to) return Refusal{to.why()};
  const std::string domain = domain_of(from->address);
  const std::string place = header_text(site);
  const std::string sender =
      !from->name.empty() ? from->name : (place.empty() ? "Clutchward" : "Clutchward " + place);

  Owned<GMimeMessage> mail(g_mime_message_new(TRUE));
  g_mime_message_add_mailbox(mail.get(), GMIME_ADDRESS_TYPE_FROM, sender.c_str(),
                             from->address.c_str());
  g_mime_message_add_mailbox(mail.get(), GMIME_ADDRESS_TYPE_TO,
                             to->name.empty() ? nullptr : to->name.c_str(), to->address.c_str());
  g_mime_message_set_subject(mail.get(), header_text(message.first_line).c_str(), "utf-8");
  set_date(mail.get(), message.made_at);
  g_mime_message_set_message_id(mail.get(), mail_id(message.id, domain).c_str());

  const auto add = [&mail](const char* name, const std::string& value) {
    g_mime_object_append_header(GMIME_OBJECT(mail.get()), name, value.c_str(), "utf-8");
  };
  if (!message.answers.empty()) {
    add("In-Reply-To", "<" + message.answers + ">");
    add("References", "<" + message.answers + ">");
  } else if (!message.thread.empty() && message.thread != message.id) {
    // Every mail refers to the same root, which need not exist: mail programs hang them together
    // all the same, and the order of arrival does not matter.
    const std::string root = "<" + mail_id(message.thread, domain) + ">";
    add("In-Reply-To", root);
    add("References", root);
  }
  add("List-Id", list_id(site, domain));
  if (!message.links.reply_to.empty()) add("Reply-To", message.links.reply_to);
  // RFC 3834, section 5.
  add("Auto-Submitted", message.answers.empty() ? "auto-generated" : "auto-replied");
  add("X-Auto-Response-Suppress", "All");
  if (message.urgency == Urgency::high) {
    add("Importance", "high");
    add("X-Priority", "1");
  }
  add_body(mail.get(), message, site);
  return written(mail.get());
}

}  // namespace clutchward
