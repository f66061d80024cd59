// The keeper's end of the control socket.
#include "control_client.h"

#include <curl/curl.h>
#include <sys/random.h>
#include <unistd.h>

#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <memory>
#include <nlohmann/json.hpp>

#include "base/check.h"
#include "base/text.h"
#include "web/server.h"
#include "wire/command_json.h"

namespace clutchward {
namespace {

// A person waits at a prompt: longer looks broken (common practice, no published source).
constexpr long kSeconds = 10;
// Ten thousand cabinets are about 30 MB.
constexpr std::size_t kMostBytes = 256U << 20U;

std::size_t keep(char* bytes, std::size_t size, std::size_t count, void* into) {
  auto& body = *static_cast<std::string*>(into);
  if (body.size() + size * count > kMostBytes) return 0;
  body.append(bytes, size * count);
  return size * count;
}

std::string random_id() {
  unsigned char bytes[16];
  CHECK(::getrandom(bytes, sizeof bytes, 0) == static_cast<ssize_t>(sizeof bytes));
  constexpr char kHex[] = "0123456789abcdef";
  std::string id;
  for (const unsigned char byte : bytes) {
    id += kHex[byte >> 4U];
    id += kHex[byte & 15U];
  }
  return id;
}

std::string unreachable(const std::string& socket, const char* curl_says) {
  const std::string at = "the daemon cannot be reached at " + socket + ": ";
  if (::access(socket.c_str(), F_OK) != 0 && errno == ENOENT)
    return at +
           "there is no such socket. Is clutchwardd running? If its state lies elsewhere, give "
           "--state DIR or set CLUTCHWARD_STATE.";
  if (::access(socket.c_str(), W_OK) != 0 && errno == EACCES)
    return at +
           "you may not open it. Run this as the daemon's user or as a member of the group that "
           "owns it.";
  return at + curl_says + ". Is clutchwardd running?";
}

}  // namespace

std::string state_directory(const std::string& given) {
  if (!given.empty()) return given;
  const char* from_environment = std::getenv("CLUTCHWARD_STATE");
  if (from_environment != nullptr && *from_environment != '\0') return from_environment;
  return "/var/lib/clutchward";
}

ControlClient::ControlClient(const std::string& state) : socket_(control_socket_path(state)) {}

Result<HttpAnswer> ControlClient::send(const std::string& path, const std::string* body,
                                       bool& timed_out) const {
  const std::unique_ptr<CURL, decltype(&curl_easy_cleanup)> curl(curl_easy_init(),
                                                                 &curl_easy_cleanup);
  CHECK(curl != nullptr);
  HttpAnswer answer;
  char error[CURL_ERROR_SIZE] = "";
  curl_easy_setopt(curl.get(), CURLOPT_UNIX_SOCKET_PATH, socket_.c_str());
  curl_easy_setopt(curl.get(), CURLOPT_URL, ("http://localhost" + path).c_str());
  curl_easy_setopt(curl.get(), CURLOPT_PROTOCOLS_STR, "http");
  curl_easy_setopt(curl.get(), CURLOPT_PROXY, "");
  curl_easy_setopt(curl.get(), CURLOPT_NOSIGNAL, 1L);
  curl_easy_setopt(curl.get(), CURLOPT_TIMEOUT, kSeconds);
  curl_easy_setopt(curl.get(), CURLOPT_ERRORBUFFER, error);
  curl_easy_setopt(curl.get(), CURLOPT_WRITEFUNCTION, &keep);
  curl_easy_setopt(curl.get(), CURLOPT_WRITEDATA, &answer.body);
  const std::unique_ptr<curl_slist, decltype(&curl_slist_free_all)> headers(
      curl_slist_append(nullptr, "Content-Type: application/json"), &curl_slist_free_all);
  if (body != nullptr) {
    curl_easy_setopt(curl.get(), CURLOPT_POSTFIELDSIZE, static_cast<long>(body->size()));
    curl_easy_setopt(curl.get(), CURLOPT_POSTFIELDS, body->c_str());
    curl_easy_setopt(curl.get(), CURLOPT_HTTPHEADER, headers.get());
  }
  const CURLcode code = curl_easy_perform(curl.get());
  timed_out = code == CURLE_OPERATION_TIMEDOUT;
  if (timed_out)
    return Refusal{"the daemon at " + socket_ + " did not answer within " +
                   std::to_string(kSeconds) + " seconds"};
  if (code != CURLE_OK)
    return Refusal{unreachable(socket_, *error != '\0' ? error : curl_easy_strerror(code))};
  curl_easy_getinfo(curl.get(), CURLINFO_RESPONSE_CODE, &answer.status);
  return answer;
}

Result<HttpAnswer> ControlClient::get(const std::string& path) const {
  bool timed_out = false;
  return send(path, nullptr, timed_out);
}

Result<HttpAnswer> ControlClient::post(const std::string& path) const {
  const std::string nothing;
  bool timed_out = false;
  return send(path, &nothing, timed_out);
}

Result<Reply> ControlClient::command(Command command) const {
  command.id = random_id();
  const std::string body = to_json(command);
  bool timed_out = false;
  auto answer = send("/api/command", &body, timed_out);
  if (timed_out) answer = send("/api/command", &body, timed_out);
  if (timed_out)
    return Refusal{answer.why() +
                   ", twice; whether it did what you asked is not known: look with "
                   "clutchward status"};
  if (!answer) return Refusal{answer.why()};
  const auto reply = nlohmann::json::parse(answer->body, nullptr, false);
  if (!reply.is_object() || !reply.contains("ok") || !reply["ok"].is_boolean())
    return Refusal{"the daemon answered " + std::to_string(answer->status) + ": " +
                   printable(answer->body)};
  Reply out{command.id, reply["ok"].get<bool>(), ""};
  if (reply.contains("why") && reply["why"].is_string()) out.why = reply["why"].get<std::string>();
  return out;
}

std::string path_part(const std::string& text) {
  const std::unique_ptr<char, decltype(&curl_free)> escaped(
      curl_easy_escape(nullptr, text.data(), static_cast<int>(text.size())), &curl_free);
  return escaped ? std::string(escaped.get()) : std::string();
}

}  // namespace clutchward
