// Replies by mail coming in: one worker with one connection to the mailbox, that hands over what is
// addressed to us and marks as read what was taken. It decides nothing about a mail, and leaves all
// others as they are: it looks with EXAMINE and BODY.PEEK, which change nothing.
#pragma once

#include <cstdint>
#include <functional>
#include <list>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "access/incoming_mail.h"
#include "cabinet/replies.h"
#include "channel/carrier.h"

namespace clutchward {

// A place in a mailbox: the mails up to it have been looked at. Numbers mean nothing once the
// server gives the mailbox another validity (RFC 3501, section 2.3.1.1).
struct MailboxPlace {
  std::uint32_t validity = 0;
  std::uint32_t uid = 0;
  bool operator==(const MailboxPlace&) const = default;
};

struct FetchedMail {
  MailboxPlace place;
  IncomingMail mail;
  std::string unreadable;  // why it is no mail that can be read; "" : it is
};

class InboundMail {
 public:
  explicit InboundMail(TimeLimits limits = {});
  ~InboundMail();  // stop()
  InboundMail(const InboundMail&) = delete;
  InboundMail& operator=(const InboundMail&) = delete;

  // From where it reads, and how far it had come; none: nowhere. `address` is the bare address that
  // replies go to. What is as it was goes on as it is. Never waits.
  void configure(const std::optional<RepliesSettings>& settings, const std::string& address,
                 MailboxPlace from);

  // Readable while mails wait or the trouble has changed: for the loop's poll.
  int ready_fd() const;
  std::vector<FetchedMail> take();
  // Why no mail is read; "" while it is, or where none is to be.
  std::string trouble() const;
  // Marks one as read. Forgotten where the mailbox is another one by then.
  void mark_seen(const MailboxPlace& place);

  // Ends every worker, within about a second.
  void stop();

 private:
  class Exchange;
  class Worker;

  TimeLimits limits_;
  std::shared_ptr<Exchange> exchange_;
  std::unique_ptr<Worker> worker_;
  std::list<std::unique_ptr<Worker>> ending_;
};

}  // namespace clutchward
