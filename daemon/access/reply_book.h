// Replies by mail: which of our messages can be answered so, and whether a mail that came in may be
// done. Decides and keeps; it reads no mail, and does nothing itself.
#pragma once

#include <functional>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "access/incoming_mail.h"
#include "access/link.h"
#include "access/reply_word.h"
#include "base/tree.h"
#include "notification/notification.h"

namespace clutchward {

// How long a message can be answered: as long as its links can be used.
inline constexpr Span kReplyLife = kLinkLife;

// One way in which mail reaches a contact.
struct Mailbox {
  int channel = 0;
  std::string address;  // bare
};

// What the configuration says of replies.
struct ReplyTerms {
  std::string site;
  std::string address;  // bare: what stands before "+TOKEN@"
  std::string domain;   // of the ids that our mails have
  std::function<std::vector<Mailbox>(const std::string& contact)> mailboxes_of;
  std::function<bool(const std::string& contact, Deed deed)> may;
};

struct MailVerdict {
  std::string refused;            // why it is left as found, for the log; "" : it is one of ours
  std::string message;            // the id of the message that it answers
  Link told;                      // what that message told; the deed is the word's
  int channel = 0;                // the answer goes there
  std::optional<ReplyWord> word;  // what is to be done; none: nothing, and `sentence` says why
  std::string sentence;
};

class ReplyBook {
 public:
  // Notes a message that tells of an alarm, so that it can be answered. The same one again changes
  // nothing.
  void note(const Notification& message, Wall now);
  // The address that a reply to it goes to: "clutchward+q6…@saltmere.example". "" for a message
  // that is not noted.
  std::string address_for(const std::string& message, const ReplyTerms& terms) const;

  // A mail is refused unless a person seems to have written it, it answers one of these messages by
  // that message's own address, it comes from the contact that was told, and it was not taken
  // before. The order says nothing to a stranger: whatever is refused is not answered.
  MailVerdict judge(const IncomingMail& mail, const ReplyTerms& terms, Wall now) const;
  // Notes that it was taken, so that it never is again.
  void take(const MailVerdict& verdict, const IncomingMail& mail);

  // What is to be kept, under "site/reply-keys" and "replies/<message>".
  std::vector<Change> take_changes();
  void restore(const std::vector<std::pair<std::string, Tree>>& kept);

 private:
  struct Told {
    Link link;
    std::string key;                 // by which its address is signed
    std::vector<std::string> taken;  // hashes of the ids of the mails that answered it
  };
  struct Key {
    std::string id;
    std::string secret;
    Wall made_at{};
  };
  void renew_key(Wall now);
  void make_room(Wall now);
  std::string token_of(const std::string& message, const Told& told, const ReplyTerms& terms) const;
  const std::pair<const std::string, Told>* answered_by(const IncomingMail& mail,
                                                        const ReplyTerms& terms) const;

  std::map<std::string, Told> told_;  // by the message's id
  std::vector<Key> keys_;             // newest last
  bool keys_changed_ = false;
  std::vector<std::string> changed_;  // messages; those that are gone as well
};

}  // namespace clutchward
