// Reads where the broker and the mail server are and how to be let in.
#include "config/server_reader.h"

#include <optional>

#include "base/limits.h"
#include "config/address.h"
#include "config/file_check.h"
#include "config/values.h"

namespace clutchward {

namespace {

void read_file_key(const Section& section, std::string_view key, Content content,
                   std::string& into) {
  if (const auto field = section.find(key)) into = read_file_name(*field, content).value_or("");
}

void read_user(const Section& section, std::string& user, std::string& password_file) {
  if (const auto field = section.find("user")) user = read_text(*field, "a user").value_or("");
  read_file_key(section, "password_file", Content::secret, password_file);
  if (section.has("password_file") && !section.has("user")) {
    section.field().faults.add(section.place("password_file"),
                               section.path("password_file") + " stands without a user; expected " +
                                   section.path("user") + " beside it");
  }
}

std::string base_fault(const std::string& base) {
  if (base.size() > limits::kTopicBytes / 2) {
    return "at most " + std::to_string(limits::kTopicBytes / 2) + " bytes";
  }
  if (base.find_first_of("+#") != std::string::npos) return "a topic without the wildcards + and #";
  if (base.front() == '/' || base.back() == '/') return "a topic without a slash at its ends";
  if (base.find("//") != std::string::npos) return "a topic without empty levels";
  if (base.front() == '$') return "a topic that does not begin with $, which is the broker's own";
  return "";
}

void check_tls(const Section& section, const BrokerSettings& broker) {
  Faults& faults = section.field().faults;
  const bool certificate = section.has("certificate_file");
  if (certificate != section.has("key_file")) {
    const std::string_view there = certificate ? "certificate_file" : "key_file";
    const std::string_view missing = certificate ? "key_file" : "certificate_file";
    faults.add(section.place(there), section.path(there) + " stands alone; expected " +
                                         section.path(missing) + " beside it");
  }
  if (!broker.url.starts_with("mqtt://")) return;
  for (const std::string_view key : {"ca_file", "certificate_file", "key_file"}) {
    if (!section.has(key)) continue;
    faults.add(section.place(key),
               section.path(key) + " is of no use with mqtt://; expected it with mqtts:// only");
  }
}

}  // namespace

BrokerSettings read_broker(const Field& field) {
  BrokerSettings broker;
  const Section section(field, {"url", "base", "user", "password_file", "client_id", "ca_file",
                                "certificate_file", "key_file"});
  if (!section) return broker;
  if (const auto url = section.need("url", "a URL such as mqtt://127.0.0.1:1883")) {
    broker.url = read_url(*url, {"mqtt", "mqtts"}, false);
  }
  const std::string expected = "a topic such as clutchward/saltmere";
  if (const auto base = section.need("base", expected)) {
    broker.base = read_text(*base, expected, limits::kTopicBytes).value_or("");
    const std::string why = broker.base.empty() ? "" : base_fault(broker.base);
    if (!why.empty()) base->fault(why);
  }
  read_user(section, broker.user, broker.password_file);
  if (const auto id = section.find("client_id")) {
    broker.client_id = read_text(*id, "a client id", 64).value_or("");
  }
  read_file_key(section, "ca_file", Content::open_to_all, broker.tls.ca_file);
  read_file_key(section, "certificate_file", Content::open_to_all, broker.tls.certificate_file);
  read_file_key(section, "key_file", Content::secret, broker.tls.key_file);
  check_tls(section, broker);
  return broker;
}

SmtpSettings read_smtp(const Field& field) {
  SmtpSettings smtp;
  const Section section(field, {"url", "from", "user", "password_file", "ca_file"});
  if (!section) return smtp;
  if (const auto url = section.need("url", "a URL such as smtp://127.0.0.1:25")) {
    smtp.url = read_url(*url, {"smtp", "smtps"}, false);
  }
  const std::string expected = "an address such as clutchward@saltmere.example";
  if (const auto from = section.need("from", expected)) {
    if (from->is_word() && valid_email(from->node.text)) {
      smtp.from = from->node.text;
    } else {
      from->fault(expected);
    }
  }
  read_user(section, smtp.user, smtp.password_file);
  if (section.has("user") && !section.has("password_file") && !section.has("password")) {
    section.field().faults.add(section.place("user"),
                               section.path("user") + " stands without a password; expected " +
                                   section.path("password_file") + " beside it");
  }
  read_file_key(section, "ca_file", Content::open_to_all, smtp.ca_file);
  return smtp;
}

}  // namespace clutchward
