// The webhook channel: one HTTP request a message, signed where a secret is given. Never follows a
// redirect, never reads a reply past its bound, and never repeats a header's or URL's text in a
// detail.
#include <strings.h>

#include <algorithm>

#include "base/text.h"
#include "channel/catalogue.h"
#include "channel/http_reply.h"
#include "channel/secret_file.h"
#include "channel/signature.h"
#include "channel/transfer.h"
#include "channel/webhook_body.h"

namespace clutchward {
namespace {

using Header = std::pair<std::string, std::string>;
using Headers = std::vector<Header>;

constexpr const char* kCloudEvents = "application/cloudevents+json; charset=utf-8";
constexpr const char* kJson = "application/json; charset=utf-8";
constexpr const char* kNoUrl = "webhook url: expected http://host or https://host";

bool same_name(std::string_view a, std::string_view b) {
  return a.size() == b.size() && ::strncasecmp(a.data(), b.data(), a.size()) == 0;
}

bool is_http(std::string_view url) {
  const auto end = std::min(url.find(':'), url.size());
  return same_name(url.substr(0, end), "http") || same_name(url.substr(0, end), "https");
}

const std::string* find_header(const Headers& headers, std::string_view name) {
  for (const auto& [known, value] : headers)
    if (same_name(known, name)) return &value;
  return nullptr;
}

// RFC 9110's token, from memory.
bool fit_for_name(std::string_view name) {
  return !name.empty() && std::all_of(name.begin(), name.end(), [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
           std::string_view("!#$%&'*+-.^_`|~").find(c) != std::string_view::npos;
  });
}

// A server that echoes what it was sent must not bring a token into a log: every word that could be
// one (12 letters or more) of our headers, URL and body template is blotted out.
std::string without_words_of(std::string said, std::string_view source) {
  constexpr std::string_view kWord =
      "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-._~+/";
  constexpr std::size_t kShortestToken = 12;
  constexpr std::string_view kBlot = "...";
  while (!source.empty()) {
    const std::size_t end = std::min(source.find_first_not_of(kWord), source.size());
    const std::string_view word = source.substr(0, end);
    source.remove_prefix(std::min(end + 1, source.size()));
    if (word.size() < kShortestToken) continue;
    for (auto at = said.find(word); at != std::string::npos;
         at = said.find(word, at + kBlot.size()))
      said.replace(at, word.size(), kBlot);
  }
  return said;
}

struct Request {
  std::string method;
  Headers headers;
  std::string body;
};

class Webhook final : public Carrier {
 public:
  Webhook(WebhookChannel settings, const CarrierParts& parts)
      : settings_(std::move(settings)), parts_(parts) {}

  std::string fault() const override {
    Notification message;
    message.id = "none";
    const Result<Request> request = compose(message);
    return request ? "" : request.why();
  }

  Carried carry(const Notification& message, const std::stop_token& stop) override {
    Result<Request> request = compose(message);
    if (!request) return {Outcome::failed, request.why(), std::nullopt};
    return send(*request, stop);
  }

 private:
  Result<Request> compose(const Notification& message) const;
  Result<Headers> own_headers(const Notification& message) const;
  Result<Headers> signed_headers(const std::string& id, const std::string& body) const;
  Carried send(const Request& request, const std::stop_token& stop) const;
  Carried judge(const Transfer& transfer, CURLcode code, const Request& request) const;
  std::string without_secrets(std::string said, const Request& request) const;

  WebhookChannel settings_;
  CarrierParts parts_;
};

Result<Headers> Webhook::own_headers(const Notification& message) const {
  Headers headers;
  for (const auto& [name, pattern] : settings_.headers) {
    if (!fit_for_name(name))
      return Refusal{"webhook header " + printable(name) + ": not a header name"};
    Result<std::string> value = fill_template(pattern, message, parts_.site, Escape::none);
    if (!value) return Refusal{"webhook header " + name + ": " + value.why()};
    if (!fit_for_header(*value))
      return Refusal{"webhook header " + name + ": a line break or control character in its value"};
    headers.emplace_back(name, std::move(*value));
  }
  return headers;
}

Result<Headers> Webhook::signed_headers(const std::string& id, const std::string& body) const {
  Headers headers;
  if (settings_.secret_file.empty()) return headers;
  const auto lines = read_secret_lines(settings_.secret_file);
  if (!lines) return Refusal{lines.why()};
  std::vector<std::string> keys;
  for (const std::string& line : *lines) {
    Result<std::string> key = signing_key(line);
    if (!key)
      return Refusal{"secret file " + printable(settings_.secret_file) + ": line " +
                     std::to_string(keys.size() + 1) + " " + key.why()};
    keys.push_back(std::move(*key));
  }
  // The time of this try, not of the message: receivers refuse what is older than minutes.
  const auto seconds =
      std::chrono::floor<std::chrono::seconds>(parts_.wall_now()).time_since_epoch().count();
  headers.emplace_back("webhook-timestamp", std::to_string(seconds));
  headers.emplace_back("webhook-signature", signature_header(keys, id, seconds, body));
  return headers;
}

Result<Request> Webhook::compose(const Notification& message) const {
  if (!fit_for_header(message.id)) return Refusal{"message id: control character"};
  Request request;
  request.method = settings_.method.empty() ? "POST" : settings_.method;
  if (!fit_for_name(request.method)) return Refusal{"webhook method: not a method name"};
  Result<Headers> own = own_headers(message);
  if (!own) return Refusal{own.why()};
  request.headers = std::move(*own);

  const std::string* type = find_header(request.headers, "Content-Type");
  if (settings_.body.empty()) {
    if (request.method != "GET" && request.method != "HEAD") {
      request.body = cloud_event(message, parts_.site);
      if (type == nullptr) request.headers.emplace_back("Content-Type", kCloudEvents);
    }
  } else {
    const Escape escape = escape_for(type != nullptr ? *type : kJson);
    Result<std::string> body = fill_template(settings_.body, message, parts_.site, escape);
    if (!body) return Refusal{"webhook body: " + body.why()};
    request.body = std::move(*body);
    if (type == nullptr) request.headers.emplace_back("Content-Type", kJson);
  }

  request.headers.emplace_back("webhook-id", message.id);
  Result<Headers> signatures = signed_headers(message.id, request.body);
  if (!signatures) return Refusal{signatures.why()};
  for (Header& header : *signatures) request.headers.push_back(std::move(header));
  return request;
}

Carried Webhook::send(const Request& request, const std::stop_token& stop) const {
  Transfer transfer(parts_.limits, stop, "http,https");
  TextList lines;
  bool complete =
      lines.add("Expect:");  // libcurl's "100-continue" costs a second with many servers
  if (find_header(request.headers, "User-Agent") == nullptr)
    complete = lines.add("User-Agent: Clutchward/" CLUTCHWARD_VERSION) && complete;
  for (const auto& [name, value] : request.headers)
    // "Name;" is how libcurl spells a header without a value.
    complete = lines.add(value.empty() ? name + ";" : name + ": " + value) && complete;
  if (!complete) return {Outcome::try_again, "out of memory", std::nullopt};

  transfer.set(CURLOPT_URL, settings_.url);
  transfer.set(CURLOPT_HTTPHEADER, lines.get());
  if (request.method == "HEAD") {
    transfer.set(CURLOPT_NOBODY, 1L);
  } else if (!(request.method == "GET" && request.body.empty())) {
    transfer.set(CURLOPT_POSTFIELDSIZE, static_cast<long>(request.body.size()));
    transfer.set(CURLOPT_POSTFIELDS, request.body);
    transfer.set(CURLOPT_CUSTOMREQUEST, request.method);
  }
  const CURLcode code = transfer.perform();
  return judge(transfer, code, request);
}

std::string Webhook::without_secrets(std::string said, const Request& request) const {
  for (const auto& [name, value] : request.headers) said = without_words_of(std::move(said), value);
  // Of the URL all but the host, which the keeper should see.
  const auto host = settings_.url.find("://");
  const auto path = settings_.url.find('/', host == std::string::npos ? 0 : host + 3);
  if (path != std::string::npos)
    for (std::string_view rest = std::string_view(settings_.url).substr(path); !rest.empty();) {
      const auto end = std::min(rest.find('/', 1), rest.size());
      said = without_words_of(std::move(said), rest.substr(1, end - 1));
      rest.remove_prefix(end);
    }
  return without_words_of(std::move(said), settings_.body);
}

Carried Webhook::judge(const Transfer& transfer, CURLcode code, const Request& request) const {
  switch (code) {
    case CURLE_OK:
      break;
    case CURLE_URL_MALFORMAT:
      return {Outcome::failed, kNoUrl, std::nullopt};
    case CURLE_UNSUPPORTED_PROTOCOL:
      if (!is_http(settings_.url)) return {Outcome::failed, kNoUrl, std::nullopt};
      // A line that is just coming up, say: another time another one answers.
      return {Outcome::try_again, "what answers there does not speak HTTP", std::nullopt};
    default:
      // A reply that was cut at its bound has said its status all the same.
      if (transfer.reply_was_cut()) break;
      return {Outcome::try_again, transfer.why(code), std::nullopt};
  }
  const long status = transfer.response_code();
  Carried carried;
  carried.outcome = outcome_of_status(status);
  if (carried.outcome == Outcome::try_again)
    carried.retry_after = retry_after(transfer.lines(), parts_.wall_now());
  std::string said = transfer.reply().substr(0, transfer.reply().find_first_of("\r\n"));
  said = without_secrets(std::move(said), request);
  carried.detail = "HTTP " + std::to_string(status);
  if (!said.empty()) carried.detail += ": " + printable(said, 160);
  return carried;
}

}  // namespace

std::unique_ptr<Carrier> make_webhook(const ChannelSettings& settings, const CarrierParts& parts) {
  if (!settings.webhook) return nullptr;
  return std::make_unique<Webhook>(*settings.webhook, parts);
}

}  // namespace clutchward
