// One libcurl transfer with everything set that libcurl leaves open: every time limit, the
// protocols allowed, no redirects, no signals, a fresh connection, a bound on the reply, and an end
// on request. Certificates are always verified; there is no switch for it.
#pragma once

#include <curl/curl.h>

#include <optional>
#include <stop_token>
#include <string>
#include <vector>

#include "channel/carrier.h"

namespace clutchward {

// Readies libcurl for all threads; called before the first worker starts. Does nothing again.
void prepare_transfers();

class Transfer {
 public:
  // `protocols` as CURLOPT_PROTOCOLS_STR takes it: "http,https".
  Transfer(const TimeLimits& limits, const std::stop_token& stop, const char* protocols);
  ~Transfer();
  Transfer(const Transfer&) = delete;
  Transfer& operator=(const Transfer&) = delete;

  // Options of the caller's own. False (and perform() refuses) once libcurl did not take one.
  bool set(CURLoption option, long value);
  bool set(CURLoption option, const char* value);
  bool set(CURLoption option, const std::string& value) { return set(option, value.c_str()); }
  bool set(CURLoption option, curl_slist* list);
  void upload(std::string body);  // sent from memory, as CURLOPT_UPLOAD

  CURLcode perform();
  // What went wrong, printable, without the URL's path or query (a token may stand there).
  std::string why(CURLcode code) const;

  long response_code() const;
  // For a conversation after CURLOPT_CONNECT_ONLY: for curl_easy_send and curl_easy_recv alone.
  CURL* handle() const { return handle_; }
  curl_socket_t socket() const;
  const std::string& reply() const { return reply_; }  // at most limits::kWebhookReplyBytes
  bool reply_was_cut() const { return reply_cut_; }
  // Header lines of the reply (HTTP), or the server's lines (SMTP), each without its line end.
  const std::vector<std::string>& lines() const { return lines_; }

 private:
  static std::size_t take_reply(char* data, std::size_t size, std::size_t count, void* self);
  static std::size_t take_line(char* data, std::size_t size, std::size_t count, void* self);
  static std::size_t give_body(char* buffer, std::size_t size, std::size_t count, void* self);
  static int look_for_stop(void* self, curl_off_t, curl_off_t, curl_off_t, curl_off_t);

  CURL* handle_;
  std::stop_token stop_;
  bool options_taken_ = true;
  char error_[CURL_ERROR_SIZE] = {};
  std::string body_;
  std::size_t body_given_ = 0;
  std::string reply_;
  bool reply_cut_ = false;
  std::vector<std::string> lines_;
};

// True where what goes to this URL never leaves the machine: 127.0.0.0/8, ::1, localhost.
bool is_loopback_url(const std::string& url);

// A list of header lines or recipients that frees itself.
class TextList {
 public:
  TextList() = default;
  ~TextList() { curl_slist_free_all(list_); }
  TextList(const TextList&) = delete;
  TextList& operator=(const TextList&) = delete;
  bool add(const std::string& text);
  curl_slist* get() const { return list_; }

 private:
  curl_slist* list_ = nullptr;
};

}  // namespace clutchward
