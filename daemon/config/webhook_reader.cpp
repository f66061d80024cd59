// Reads a webhook's address, secret, method, headers and body.
#include "config/webhook_reader.h"

#include <algorithm>
#include <optional>

#include "base/text.h"
#include "config/address.h"
#include "config/file_check.h"
#include "config/template_check.h"
#include "config/values.h"

namespace clutchward {

namespace {

constexpr std::size_t kHeaders = 32;

std::string lower(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(), [](char c) {
    return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  });
  return text;
}

// Headers that follow from the message itself; a second one would break it.
bool ours(const std::string& name) {
  static const std::vector<std::string> kOurs = {
      "content-length",    "transfer-encoding", "host", "connection", "webhook-id",
      "webhook-timestamp", "webhook-signature"};
  return std::find(kOurs.begin(), kOurs.end(), lower(name)) != kOurs.end();
}

void read_headers(const Field& field, WebhookChannel& webhook) {
  const auto entries = field.entries("a map from header names to values");
  if (entries.size() > kHeaders) {
    field.refuse(field.path + " has " + std::to_string(entries.size()) +
                 " headers; expected at most " + std::to_string(kHeaders));
    return;
  }
  const auto stood_before = [&](const std::string& name) {
    return std::any_of(webhook.headers.begin(), webhook.headers.end(),
                       [&](const auto& other) { return lower(other.first) == lower(name); });
  };
  for (const auto& [name, place, value] : entries) {
    if (!valid_header_name(name)) {
      field.faults.add(place, field.path + ": \"" + printable(name, 60) +
                                  "\" cannot be the name of a header; expected letters, digits and "
                                  "hyphens");
    } else if (ours(name)) {
      field.faults.add(place, field.path + ": the header \"" + name +
                                  "\" is set with each message; expected others");
    } else if (stood_before(name)) {
      field.faults.add(place,
                       field.path + ": the header \"" + name + "\" stands twice; expected it once");
    } else if (!value.is_word() || !valid_header_value(value.node.text)) {
      // The value may be a secret, so it is not shown.
      value.refuse(value.path +
                   " has no good value; expected one line of text without control "
                   "characters, at most 4096 bytes");
    } else {
      webhook.headers.emplace_back(name, value.node.text);
    }
  }
}

void read_body(const Field& field, WebhookChannel& webhook) {
  if (!field.is_word() || field.node.text.empty()) {
    field.fault("a template such as \"{{first_line}}\"");
    return;
  }
  std::string unknown;
  std::string why = template_fault(field.node.text, unknown);
  if (why.empty()) {
    webhook.body = field.node.text;
    return;
  }
  if (!unknown.empty()) {
    const std::string hint = field.faults.did_you_mean(unknown, template_names());
    why += hint.empty() ? "; expected " + one_of(template_names()) : hint;
  }
  field.refuse(field.path + " " + why);
}

}  // namespace

const std::vector<std::string>& webhook_keys() {
  static const std::vector<std::string> keys = {"webhook", "secret_file", "method", "headers",
                                                "body"};
  return keys;
}

WebhookChannel read_webhook(const Section& section) {
  WebhookChannel webhook;
  if (const auto url = section.find("webhook")) {
    webhook.url = read_url(*url, {"http", "https"}, true);
  }
  if (const auto secret = section.find("secret_file")) {
    webhook.secret_file = read_file_name(*secret, Content::secret).value_or("");
  }
  if (const auto method = section.find("method")) {
    static const std::vector<std::string> kMethods = {"POST", "PUT", "PATCH", "GET"};
    if (const auto index = read_choice(*method, kMethods)) webhook.method = kMethods[*index];
  }
  if (const auto headers = section.find("headers")) read_headers(*headers, webhook);
  if (const auto body = section.find("body")) read_body(*body, webhook);
  return webhook;
}

}  // namespace clutchward
