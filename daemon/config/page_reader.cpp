// The keys of `page` and `people`.
#include "config/page_reader.h"

#include "access/passphrase.h"
#include "config/address.h"
#include "config/file_check.h"
#include "config/values.h"

namespace clutchward {

namespace {

// A household or a farm, not a town; the proxies before one page fit on one hand.
constexpr std::size_t kPeople = 256;
constexpr std::size_t kProxies = 16;

void read_tls(const Field& field, PageSettings& page) {
  const Section tls(field, {"certificate_file", "key_file"});
  if (!tls) return;
  if (const auto file = tls.need("certificate_file", "a PEM file with the certificate"))
    page.certificate_file = read_file_name(*file, Content::open_to_all).value_or("");
  if (const auto file = tls.need("key_file", "a PEM file with its key"))
    page.key_file = read_file_name(*file, Content::secret).value_or("");
}

void read_proxies(const Field& field, PageSettings& page) {
  const auto items = field.items("a list of addresses such as [127.0.0.1]");
  if (items.size() > kProxies) {
    field.refuse(field.path + " has " + std::to_string(items.size()) +
                 " addresses; expected at most " + std::to_string(kProxies));
    return;
  }
  for (const Field& item : items) {
    if (item.is_word() && valid_address(item.node.text))
      page.proxies.push_back(item.node.text);
    else
      item.fault("the numeric address of a proxy, without a port");
  }
}

std::string read_hash(const Field& field, const std::string& what) {
  if (field.is_word() && is_passphrase_hash(field.node.text)) return field.node.text;
  // What stands there may be the passphrase itself, so it is not shown.
  field.refuse(field.path + " is no argon2id hash; expected what `clutchward " + what + "` prints");
  return {};
}

PersonSettings read_person(const Field& field) {
  PersonSettings person;
  const Section section(field, {"role", "passphrase", "pin"});
  if (!section) return person;
  if (const auto role = section.find("role")) {
    const auto index = read_choice(*role, {"look", "answer", "manage"});
    if (index) person.role = static_cast<Role>(*index);
  }
  if (const auto hash = section.find("passphrase"))
    person.passphrase = read_hash(*hash, "passphrase");
  if (const auto hash = section.find("pin")) person.pin = read_hash(*hash, "passphrase --pin");
  if (!section.has("passphrase") && !section.has("pin"))
    field.refuse(field.path +
                 " has neither passphrase nor pin, so nobody could prove to be that person; "
                 "expected one of them, or both");
  return person;
}

}  // namespace

PageSettings read_page(const Field& field) {
  PageSettings page;
  const Section section(field, {"listen", "trust_loopback", "tls", "proxies", "url"});
  const std::string expected = "an address and a port such as 127.0.0.1:8742 or \"[::1]:8742\"";
  const auto listen = section.need("listen", expected);
  if (listen) {
    if (listen->is_word() && valid_listen(listen->node.text))
      page.listen = listen->node.text;
    else
      listen->fault(expected);
  }
  if (const auto trust = section.find("trust_loopback"))
    page.trust_loopback = read_flag(*trust).value_or(false);
  if (const auto tls = section.find("tls")) read_tls(*tls, page);
  if (const auto proxies = section.find("proxies")) read_proxies(*proxies, page);
  if (const auto url = section.find("url")) {
    page.url = read_url(*url, {"https", "http"}, false);
    if (page.url.starts_with("http://"))
      url->warn(url->path +
                " is not encrypted: cookies and links can be read on the way; expected https://");
  }
  return page;
}

std::map<std::string, PersonSettings> read_page_people(const Field& field) {
  std::map<std::string, PersonSettings> people;
  const auto entries = field.entries("a map from people to what they may do");
  if (entries.size() > kPeople) {
    field.refuse(field.path + " has " + std::to_string(entries.size()) +
                 " people; expected at most " + std::to_string(kPeople));
    return people;
  }
  for (const auto& [id, place, value] : entries)
    if (check_id(id, place, "a person", value.faults)) people[id] = read_person(value);
  return people;
}

}  // namespace clutchward
