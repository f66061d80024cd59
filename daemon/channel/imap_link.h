// One connection to a mail server: libcurl looks the host up, connects, checks the certificate and
// logs in (CURLOPT_CONNECT_ONLY); what is said afterwards goes through it word by word. libcurl's
// own IMAP commands would mark mails as read and know no IDLE.
#pragma once

#include <memory>
#include <stop_token>
#include <string>
#include <vector>

#include "base/result.h"
#include "cabinet/replies.h"
#include "channel/carrier.h"
#include "channel/imap_reader.h"
#include "channel/transfer.h"

namespace clutchward {

class ImapLink {
 public:
  // `wake`: a descriptor that is readable when idling is to end.
  ImapLink(const TimeLimits& limits, std::stop_token stop, int wake)
      : limits_(limits), stop_(std::move(stop)), wake_(wake) {}
  ~ImapLink();
  ImapLink(const ImapLink&) = delete;
  ImapLink& operator=(const ImapLink&) = delete;

  // Connected and logged in, or why not. An earlier connection ends.
  std::optional<Refusal> connect(const RepliesSettings& settings, const std::string& password);

  // The server's lines to one command, without the last, which says that it was done. A refusal is
  // the server's own words, or that the connection is of no use any more (then is_open() is false).
  Result<std::vector<ImapLine>> ask(const std::string& command);

  // Waits until the server tells of a mail, `wake` is readable, or the time is over (RFC 2177).
  // `natively`: by IDLE; otherwise it only waits.
  std::optional<Refusal> idle(Span at_most, bool natively);

  bool is_open() const { return transfer_ != nullptr; }
  // Mails came since the last call, as far as the server said.
  bool take_news() { return std::exchange(news_, false); }

 private:
  std::optional<Refusal> send(const std::string& text);
  Result<ImapLine> read_line(Span at_most, bool wakes);
  Refusal lost(std::string why);

  TimeLimits limits_;
  std::stop_token stop_;
  int wake_;
  std::unique_ptr<Transfer> transfer_;
  ImapReader reader_;
  unsigned number_ = 0;
  bool news_ = false;
};

}  // namespace clutchward
