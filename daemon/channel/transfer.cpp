// One libcurl transfer, with the defaults that a daemon can live with. Knows neither HTTP nor SMTP
// beyond what both need; it judges no outcome.
#include "channel/transfer.h"

#include <arpa/inet.h>

#include <algorithm>
#include <cstring>
#include <mutex>

#include "base/check.h"
#include "base/limits.h"
#include "base/text.h"

namespace clutchward {
namespace {

// The host of a URL as libcurl will use it (odd spellings of addresses made plain); "" for none.
std::string host_of(const std::string& url) {
  std::string host;
  CURLU* parts = curl_url();
  char* text = nullptr;
  if (parts != nullptr && curl_url_set(parts, CURLUPART_URL, url.c_str(), 0) == CURLUE_OK &&
      curl_url_get(parts, CURLUPART_HOST, &text, 0) == CURLUE_OK) {
    host = text;
    curl_free(text);
  }
  curl_url_cleanup(parts);
  return host;
}

}  // namespace

void prepare_transfers() {
  static std::once_flag once;
  std::call_once(once, [] { CHECK(curl_global_init(CURL_GLOBAL_DEFAULT) == CURLE_OK); });
}

Transfer::Transfer(const TimeLimits& limits, const std::stop_token& stop, const char* protocols)
    : handle_(curl_easy_init()), stop_(stop) {
  if (handle_ == nullptr) {
    options_taken_ = false;
    return;
  }
  set(CURLOPT_NOSIGNAL, 1L);
  set(CURLOPT_PROTOCOLS_STR, protocols);
  set(CURLOPT_FOLLOWLOCATION, 0L);
  // A proxy named by an environment variable would send alarms where nobody configured them to go.
  set(CURLOPT_PROXY, "");
  set(CURLOPT_CONNECTTIMEOUT, static_cast<long>(limits.connect.count()));
  set(CURLOPT_TIMEOUT, static_cast<long>(limits.total.count()));
  set(CURLOPT_SERVER_RESPONSE_TIMEOUT, static_cast<long>(limits.server_response.count()));
  set(CURLOPT_LOW_SPEED_LIMIT, 1L);
  set(CURLOPT_LOW_SPEED_TIME, static_cast<long>(limits.stalled.count()));
  // Servers close idle connections sooner than libcurl thinks, and alarms are few.
  set(CURLOPT_FRESH_CONNECT, 1L);
  set(CURLOPT_FORBID_REUSE, 1L);
  // Without it a dead name server holds the clean-up past every limit; the name look-up's own
  // thread ends by itself a little later.
  set(CURLOPT_QUICK_EXIT, 1L);
  curl_easy_setopt(handle_, CURLOPT_ERRORBUFFER, error_);
  curl_easy_setopt(handle_, CURLOPT_WRITEFUNCTION, take_reply);
  curl_easy_setopt(handle_, CURLOPT_WRITEDATA, this);
  curl_easy_setopt(handle_, CURLOPT_HEADERFUNCTION, take_line);
  curl_easy_setopt(handle_, CURLOPT_HEADERDATA, this);
  curl_easy_setopt(handle_, CURLOPT_XFERINFOFUNCTION, look_for_stop);
  curl_easy_setopt(handle_, CURLOPT_XFERINFODATA, this);
  set(CURLOPT_NOPROGRESS, 0L);
}

Transfer::~Transfer() { curl_easy_cleanup(handle_); }

bool Transfer::set(CURLoption option, long value) {
  if (handle_ == nullptr || curl_easy_setopt(handle_, option, value) != CURLE_OK)
    options_taken_ = false;
  return options_taken_;
}

bool Transfer::set(CURLoption option, const char* value) {
  if (handle_ == nullptr || curl_easy_setopt(handle_, option, value) != CURLE_OK)
    options_taken_ = false;
  return options_taken_;
}

bool Transfer::set(CURLoption option, curl_slist* list) {
  if (handle_ == nullptr || curl_easy_setopt(handle_, option, list) != CURLE_OK)
    options_taken_ = false;
  return options_taken_;
}

void Transfer::upload(std::string body) {
  body_ = std::move(body);
  body_given_ = 0;
  if (handle_ == nullptr) return;
  curl_easy_setopt(handle_, CURLOPT_READFUNCTION, give_body);
  curl_easy_setopt(handle_, CURLOPT_READDATA, this);
  curl_easy_setopt(handle_, CURLOPT_INFILESIZE_LARGE, static_cast<curl_off_t>(body_.size()));
  set(CURLOPT_UPLOAD, 1L);
}

CURLcode Transfer::perform() {
  if (!options_taken_) return CURLE_FAILED_INIT;
  return curl_easy_perform(handle_);
}

std::string Transfer::why(CURLcode code) const {
  const std::string text = error_[0] != '\0' ? error_ : curl_easy_strerror(code);
  return printable(text);
}

long Transfer::response_code() const {
  long code = 0;
  if (handle_ != nullptr) curl_easy_getinfo(handle_, CURLINFO_RESPONSE_CODE, &code);
  return code;
}

curl_socket_t Transfer::socket() const {
  curl_socket_t socket = CURL_SOCKET_BAD;
  if (handle_ != nullptr) curl_easy_getinfo(handle_, CURLINFO_ACTIVESOCKET, &socket);
  return socket;
}

std::size_t Transfer::take_reply(char* data, std::size_t size, std::size_t count, void* self) {
  auto& transfer = *static_cast<Transfer*>(self);
  const std::size_t room = limits::kWebhookReplyBytes - transfer.reply_.size();
  const std::size_t length = size * count;
  transfer.reply_.append(data, std::min(room, length));
  if (length <= room) return length;
  transfer.reply_cut_ = true;
  return 0;  // ends the transfer: a reply without end must not hold the channel
}

std::size_t Transfer::take_line(char* data, std::size_t size, std::size_t count, void* self) {
  auto& transfer = *static_cast<Transfer*>(self);
  std::string_view line(data, size * count);
  while (!line.empty() && (line.back() == '\n' || line.back() == '\r')) line.remove_suffix(1);
  if (transfer.lines_.size() < limits::kChannelReplyLines)
    transfer.lines_.emplace_back(line.substr(0, limits::kChannelReplyLineBytes));
  return size * count;
}

std::size_t Transfer::give_body(char* buffer, std::size_t size, std::size_t count, void* self) {
  auto& transfer = *static_cast<Transfer*>(self);
  const std::size_t left = transfer.body_.size() - transfer.body_given_;
  const std::size_t length = std::min(left, size * count);
  std::memcpy(buffer, transfer.body_.data() + transfer.body_given_, length);
  transfer.body_given_ += length;
  return length;
}

int Transfer::look_for_stop(void* self, curl_off_t, curl_off_t, curl_off_t, curl_off_t) {
  return static_cast<Transfer*>(self)->stop_.stop_requested() ? 1 : 0;
}

bool is_loopback_url(const std::string& url) {
  std::string host = host_of(url);
  if (host == "localhost") return true;  // libcurl itself resolves it to the loopback, always
  if (host.size() > 2 && host.front() == '[') host = host.substr(1, host.size() - 2);
  in_addr v4{};
  if (inet_pton(AF_INET, host.c_str(), &v4) == 1) return (ntohl(v4.s_addr) >> 24) == 127;
  in6_addr v6{};
  return inet_pton(AF_INET6, host.c_str(), &v6) == 1 && IN6_IS_ADDR_LOOPBACK(&v6);
}

bool TextList::add(const std::string& text) {
  curl_slist* longer = curl_slist_append(list_, text.c_str());
  if (longer == nullptr) return false;
  list_ = longer;
  return true;
}

}  // namespace clutchward
