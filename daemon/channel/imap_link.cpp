// A conversation with a mail server. Every wait has an end, and ends within half a second of a
// stop.
#include "channel/imap_link.h"

#include <poll.h>

#include <algorithm>
#include <array>

#include "base/limits.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

constexpr Span kSlice = 500ms;  // between two looks at whether to stop
// What read_line says of a wait that ended without a line.
constexpr const char* kNothing = "nothing was said";

}  // namespace

ImapLink::~ImapLink() {
  if (!transfer_) return;
  // libcurl says LOGOUT too and waits for the answer: not for long.
  transfer_->set(CURLOPT_SERVER_RESPONSE_TIMEOUT, 1L);
}

Refusal ImapLink::lost(std::string why) {
  if (transfer_) transfer_->set(CURLOPT_SERVER_RESPONSE_TIMEOUT, 1L);
  transfer_.reset();
  return {std::move(why)};
}

std::optional<Refusal> ImapLink::connect(const RepliesSettings& settings,
                                         const std::string& password) {
  lost("");
  reader_ = {};
  transfer_ = std::make_unique<Transfer>(limits_, stop_, "imap,imaps");
  transfer_->set(CURLOPT_URL, settings.imap);
  transfer_->set(CURLOPT_CONNECT_ONLY, 1L);
  transfer_->set(CURLOPT_FORBID_REUSE, 0L);  // it would be closed at once
  // As mail out: in clear on this very machine only, and not there where it has an authority.
  const bool plain_allowed = is_loopback_url(settings.imap) && settings.ca_file.empty();
  transfer_->set(CURLOPT_USE_SSL,
                 static_cast<long>(plain_allowed ? CURLUSESSL_NONE : CURLUSESSL_ALL));
  if (!settings.ca_file.empty()) transfer_->set(CURLOPT_CAINFO, settings.ca_file);
  transfer_->set(CURLOPT_USERNAME, settings.user);
  transfer_->set(CURLOPT_PASSWORD, password);
  const CURLcode code = transfer_->perform();
  if (code == CURLE_OK) return std::nullopt;
  if (code == CURLE_LOGIN_DENIED) return lost("user or password was refused");
  if (code == CURLE_USE_SSL_FAILED)
    return lost("the server offers no STARTTLS, and a password is not sent in clear");
  const std::string why = transfer_->why(code);
  return lost(why);
}

std::optional<Refusal> ImapLink::send(const std::string& text) {
  std::string_view rest = text;
  for (Span waited{0}; !rest.empty();) {
    std::size_t sent = 0;
    const CURLcode code = curl_easy_send(transfer_->handle(), rest.data(), rest.size(), &sent);
    rest.remove_prefix(sent);
    if (code == CURLE_OK) continue;
    if (code != CURLE_AGAIN || waited >= limits_.server_response || stop_.stop_requested())
      return lost("the connection was lost");
    pollfd wait{transfer_->socket(), POLLOUT, 0};
    ::poll(&wait, 1, static_cast<int>(kSlice.count()));
    waited += kSlice;
  }
  return std::nullopt;
}

Result<ImapLine> ImapLink::read_line(Span at_most, bool wakes) {
  std::array<char, 16 * 1024> bytes{};
  for (Span waited{0};;) {
    if (auto line = reader_.next()) {
      if (imap_exists(line->text)) news_ = true;
      return std::move(*line);
    }
    std::size_t got = 0;
    const CURLcode code = curl_easy_recv(transfer_->handle(), bytes.data(), bytes.size(), &got);
    if (code == CURLE_OK && got > 0) {
      if (!reader_.feed({bytes.data(), got})) return lost("the server said too much");
      continue;
    }
    if (code != CURLE_AGAIN) return lost("the server closed the connection");
    if (stop_.stop_requested()) return lost("it is to stop");
    if (waited >= at_most) return Refusal{kNothing};
    const Span slice = std::min(kSlice, at_most - waited);
    std::array<pollfd, 2> wait{{{transfer_->socket(), POLLIN, 0}, {wake_, POLLIN, 0}}};
    const int ready = ::poll(wait.data(), wakes ? 2 : 1, static_cast<int>(slice.count()));
    if (wakes && (wait[1].revents & POLLIN) != 0) return Refusal{kNothing};
    if (ready <= 0) waited += slice;
  }
}

Result<std::vector<ImapLine>> ImapLink::ask(const std::string& command) {
  if (!transfer_) return Refusal{"there is no connection"};
  const std::string tag = "c" + std::to_string(++number_);
  if (auto refusal = send(tag + " " + command + "\r\n")) return *refusal;
  std::vector<ImapLine> lines;
  std::size_t bytes = 0;
  for (;;) {
    auto line = read_line(limits_.server_response, /*wakes=*/false);
    if (!line) return transfer_ ? lost("the server does not answer") : Refusal{line.why()};
    if (line->text.starts_with("* BYE")) return lost("the server ended it: " + line->text);
    if (line->text.starts_with(tag + " OK")) return lines;
    if (line->text.starts_with(tag + " ")) return Refusal{line->text.substr(tag.size() + 1)};
    bytes += line->text.size();
    if (bytes > 4 * limits::kImapLineBytes) return lost("the server said too much");
    lines.push_back(std::move(*line));
  }
}

std::optional<Refusal> ImapLink::idle(Span at_most, bool natively) {
  if (!transfer_) return Refusal{"there is no connection"};
  if (news_) return std::nullopt;
  if (!natively) {
    const auto line = read_line(at_most, /*wakes=*/true);
    if (!line && transfer_) return std::nullopt;
    return line ? std::nullopt : std::optional(Refusal{line.why()});
  }
  const std::string tag = "c" + std::to_string(++number_);
  if (auto refusal = send(tag + " IDLE\r\n")) return refusal;
  // Whatever the server says while idling ends it: a mail, or only that it is still there.
  for (bool idling = false;;) {
    const auto line = read_line(idling ? at_most : Span(limits_.server_response), idling);
    if (!line && !transfer_) return Refusal{line.why()};
    if (!line && !idling) return lost("the server does not answer");
    if (!line || (idling && line->text.starts_with("* ") && !line->text.starts_with("* BYE")))
      break;
    if (line->text.starts_with("+")) idling = true;
    if (line->text.starts_with("* BYE")) return lost("the server ended it: " + line->text);
    if (line->text.starts_with(tag + " ")) return lost("the server refuses to idle: " + line->text);
  }
  if (auto refusal = send("DONE\r\n")) return refusal;
  for (;;) {
    const auto line = read_line(limits_.server_response, /*wakes=*/false);
    if (!line) return transfer_ ? lost("the server does not answer") : Refusal{line.why()};
    if (line->text.starts_with(tag + " OK")) return std::nullopt;
    if (line->text.starts_with(tag + " ")) return lost("the server refuses to idle: " + line->text);
  }
}

}  // namespace clutchward
