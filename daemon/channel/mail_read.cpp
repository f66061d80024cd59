// Mails as GMime reads them. Its parser stops at a depth of its own; the text is taken from a walk
// over what it made, a few dozen parts at most.
#include "channel/mail_read.h"

#include <algorithm>

#include "base/limits.h"
#include "base/text.h"
#include "channel/gmime_door.h"

namespace clutchward {
namespace {

constexpr int kParts = 64;      // of one mail that are looked at
constexpr int kAddresses = 64;  // of one header; a reply has a few
constexpr int kIds = 128;       // of References

std::string lower(std::string text) {
  for (char& c : text)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c + 32);
  return text;
}

void add_addresses(InternetAddressList* list, std::vector<std::string>& into) {
  const int count = list == nullptr ? 0 : internet_address_list_length(list);
  for (int i = 0; i < std::min(count, kAddresses); ++i) {
    InternetAddress* each = internet_address_list_get_address(list, i);
    if (!INTERNET_ADDRESS_IS_MAILBOX(each)) {
      into.emplace_back();  // a group: somebody, and nobody we know
      continue;
    }
    const char* address = internet_address_mailbox_get_addr(INTERNET_ADDRESS_MAILBOX(each));
    into.emplace_back(address == nullptr ? "" : address);
  }
}

void add_ids(GMimeMessage* mail, const char* header, std::vector<std::string>& into) {
  const char* value = g_mime_object_get_header(GMIME_OBJECT(mail), header);
  if (value == nullptr) return;
  GMimeReferences* ids = g_mime_references_parse(nullptr, value);
  const int count = g_mime_references_length(ids);
  for (int i = std::max(0, count - kIds); i < count; ++i)
    if (const char* id = g_mime_references_get_message_id(ids, i)) into.emplace_back(id);
  g_mime_references_free(ids);
}

bool add_headers(GMimeMessage* mail, IncomingMail& into) {
  GMimeHeaderList* list = g_mime_object_get_header_list(GMIME_OBJECT(mail));
  const int count = g_mime_header_list_get_count(list);
  if (count > static_cast<int>(limits::kMailHeaders)) return false;
  for (int i = 0; i < count; ++i) {
    GMimeHeader* header = g_mime_header_list_get_header_at(list, i);
    const char* name = g_mime_header_get_name(header);
    const char* value = g_mime_header_get_value(header);
    if (name == nullptr) continue;
    into.headers.emplace_back(
        lower(name),
        std::string(value == nullptr ? "" : value).substr(0, limits::kMailHeaderBytes));
  }
  return true;
}

// The parts in the order in which they stand; of a mail inside the mail, none.
struct Walk {
  GMimeTextPart* plain = nullptr;
  GMimeTextPart* html = nullptr;
  int seen = 0;

  void look(GMimeObject* part) {
    if (part == nullptr || ++seen > kParts) return;
    if (GMIME_IS_MULTIPART(part)) {
      const int count = g_mime_multipart_get_count(GMIME_MULTIPART(part));
      for (int i = 0; i < count && seen <= kParts; ++i)
        look(g_mime_multipart_get_part(GMIME_MULTIPART(part), i));
      return;
    }
    if (!GMIME_IS_TEXT_PART(part) || g_mime_part_is_attachment(GMIME_PART(part)) != FALSE) return;
    GMimeContentType* type = g_mime_object_get_content_type(part);
    if (plain == nullptr && g_mime_content_type_is_type(type, "text", "plain") != FALSE)
      plain = GMIME_TEXT_PART(part);
    if (html == nullptr && g_mime_content_type_is_type(type, "text", "html") != FALSE)
      html = GMIME_TEXT_PART(part);
  }
};

std::string text_of(GMimeTextPart* part) {
  char* text = g_mime_text_part_get_text(part);
  const std::string copy = text == nullptr ? "" : text;
  g_free(text);
  return copy.substr(0, limits::kMailBytes);
}

}  // namespace

Result<IncomingMail> read_mail(std::string_view bytes) {
  if (bytes.size() > limits::kMailBytes) return Refusal{"it is too long"};
  const auto inside = enter_gmime();
  const Owned<GMimeStream> stream(g_mime_stream_mem_new_with_buffer(bytes.data(), bytes.size()));
  const Owned<GMimeParser> parser(g_mime_parser_new_with_stream(stream.get()));
  GMimeMessage* made = g_mime_parser_construct_message(parser.get(), nullptr);
  if (made == nullptr) return Refusal{"it is no mail"};
  const Owned<GMimeMessage> mail(made);
  IncomingMail out;
  if (!add_headers(made, out)) return Refusal{"it has too many headers"};
  if (const char* id = g_mime_message_get_message_id(made)) out.id = id;
  add_addresses(g_mime_message_get_addresses(made, GMIME_ADDRESS_TYPE_FROM), out.from);
  add_addresses(g_mime_message_get_addresses(made, GMIME_ADDRESS_TYPE_TO), out.to);
  add_addresses(g_mime_message_get_addresses(made, GMIME_ADDRESS_TYPE_CC), out.to);
  add_ids(made, "In-Reply-To", out.answers);
  add_ids(made, "References", out.answers);
  Walk walk;
  walk.look(g_mime_message_get_mime_part(made));
  if (walk.plain != nullptr)
    out.text = text_of(walk.plain);
  else if (walk.html != nullptr)
    out.text = text_of_html(text_of(walk.html));
  return out;
}

}  // namespace clutchward
