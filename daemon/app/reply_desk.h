// Replies by mail as the daemon deals with them: the book of what can be answered, and the mailbox.
// One of it; it calls nothing of the daemon but what it is handed.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "access/reply_book.h"
#include "base/tree.h"
#include "cabinet/settings.h"
#include "channel/inbound_mail.h"
#include "engine/engine.h"
#include "notification/announcer.h"
#include "notification/daily.h"

namespace clutchward {

class ReplyDesk {
 public:
  void restore(const std::vector<std::pair<std::string, Tree>>& kept);
  void configure(const Settings& settings);

  // What has come in since the last call is done, and answered through the announcer.
  void take(Engine& engine, Announcer& announcer, const Settings& settings, const Zone& zone,
            Moment now);

  // Notes those of the messages that go by mail and can be answered: before they go.
  void note(const std::vector<Notification>& messages, const Settings& settings, Wall now);
  // The address for replies to it; "" where it has none.
  std::string address_for(const Notification& message, const Settings& settings) const;

  // To be kept in the same step as what the replies did and the messages that were noted.
  std::vector<Change> take_changes();

  int ready_fd() const { return mails_.ready_fd(); }
  std::string trouble() const { return mails_.trouble(); }
  void stop() { mails_.stop(); }

 private:
  void carry_out(const MailVerdict& verdict, const IncomingMail& mail, Engine& engine,
                 Announcer& announcer, const Manner& manner, Moment now);

  ReplyBook book_;
  InboundMail mails_;
  MailboxPlace place_;
  bool place_changed_ = false;
};

// Every cabinet as the daily line and the answers to replies show it; those of the list, or all.
std::vector<DailyCabinet> daily_cabinets(const Engine& engine, const std::vector<std::string>& ids,
                                         const Manner& manner);

}  // namespace clutchward
