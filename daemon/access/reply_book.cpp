// The token is the first 128 bits of an HMAC-SHA256 (RFC 2104) over site, message, alarm, episode
// and person, in base32 (RFC 4648): mail servers may change the case of letters. Keys change daily,
// as those of links do; each lives as long as a message that it signed.
#include "access/reply_book.h"

#include <algorithm>

#include "access/answerable.h"
#include "access/random.h"
#include "base/limits.h"
#include "base/text.h"
#include "notification/mail_id.h"

namespace clutchward {
namespace {

constexpr std::size_t kTagBytes = 16;
constexpr std::size_t kKeyBytes = 32;
constexpr std::size_t kIdBytes = 250;  // what a line of a mail may hold is 998 (RFC 5322)
// A message is remembered longer than it can be answered, so that a late reply is told so.
constexpr Span kRemembered = 7 * kReplyLife;

std::string base32(std::string_view bytes) {
  constexpr std::string_view kLetters = "abcdefghijklmnopqrstuvwxyz234567";
  std::string out;
  unsigned buffer = 0;
  int bits = 0;
  for (const char c : bytes) {
    buffer = (buffer << 8) | static_cast<unsigned char>(c);
    bits += 8;
    for (; bits >= 5; bits -= 5) out += kLetters[(buffer >> (bits - 5)) & 31];
    buffer &= (1U << bits) - 1;
  }
  if (bits > 0) out += kLetters[(buffer << (5 - bits)) & 31];
  return out;
}

std::string lower(std::string_view text) {
  std::string out(text);
  for (char& c : out)
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c + 32);
  return out;
}

// It goes into a header of ours.
bool usable_id(std::string_view id) {
  return !id.empty() && id.size() <= kIdBytes && std::all_of(id.begin(), id.end(), [](char c) {
    return c > 0x20 && c < 0x7f && c != '<' && c != '>';
  });
}

// The part behind '+' of an address that is ours otherwise; "" for any other.
std::string token_in(const std::string& to, const std::string& own) {
  const auto at = own.rfind('@');
  const auto plus = to.find('+');
  const auto end = to.rfind('@');
  if (plus == std::string::npos || end == std::string::npos || plus > end) return "";
  if (!same_mailbox(to.substr(0, plus) + to.substr(end), own) || at == std::string::npos) return "";
  return lower(std::string_view(to).substr(plus + 1, end - plus - 1));
}

std::string hash_of(const std::string& mail_id) {
  return to_base64url(sha256(mail_id).substr(0, kTagBytes));
}

}  // namespace

void ReplyBook::renew_key(Wall now) {
  const bool fresh = !keys_.empty() && now - keys_.back().made_at < kLinkLife &&
                     keys_.back().made_at - now < kLinkLife;
  if (fresh) return;
  std::erase_if(keys_, [&](const Key& key) {
    return std::none_of(told_.begin(), told_.end(),
                        [&](const auto& one) { return one.second.key == key.id; });
  });
  keys_.push_back({to_base64url(random_bytes(6)), random_bytes(kKeyBytes), now});
  keys_changed_ = true;
}

void ReplyBook::make_room(Wall now) {
  const auto forget = [&](auto place) {
    changed_.push_back(place->first);
    return told_.erase(place);
  };
  for (auto each = told_.begin(); each != told_.end();)
    each = now - each->second.link.told_at > kRemembered ? forget(each) : std::next(each);
  if (told_.size() < limits::kAnswerableMessages) return;
  forget(std::min_element(told_.begin(), told_.end(), [](const auto& a, const auto& b) {
    return a.second.link.told_at < b.second.link.told_at;
  }));
}

void ReplyBook::note(const Notification& message, Wall now) {
  if (message.episode.empty() || told_.contains(message.id)) return;
  constexpr std::size_t kOthers = 64;  // what a person may be expected to mean by one word
  make_room(now);
  renew_key(now);
  told_[message.id] = {link_of(message, kOthers), keys_.back().id, {}};
  changed_.push_back(message.id);
}

std::string ReplyBook::token_of(const std::string& message, const Told& told,
                                const ReplyTerms& terms) const {
  const auto key = std::find_if(keys_.begin(), keys_.end(),
                                [&](const Key& each) { return each.id == told.key; });
  if (key == keys_.end()) return "";
  std::string text = "clutchward reply";
  for (const std::string& field :
       {terms.site, message, told.link.alarm.cabinet, told.link.alarm.batch, told.link.alarm.alarm,
        told.link.episode, told.link.person})
    text += "\n" + field;
  return base32(hmac_sha256(key->secret, text).substr(0, kTagBytes));
}

std::string ReplyBook::address_for(const std::string& message, const ReplyTerms& terms) const {
  const auto told = told_.find(message);
  const auto at = terms.address.rfind('@');
  if (told == told_.end() || at == std::string::npos) return "";
  const std::string token = token_of(message, told->second, terms);
  if (token.empty()) return "";
  return terms.address.substr(0, at) + "+" + token + terms.address.substr(at);
}

const std::pair<const std::string, ReplyBook::Told>* ReplyBook::answered_by(
    const IncomingMail& mail, const ReplyTerms& terms) const {
  for (const auto& one : told_) {
    const std::string id = mail_id(one.first, terms.domain);
    if (std::find(mail.answers.begin(), mail.answers.end(), id) == mail.answers.end()) continue;
    const std::string token = token_of(one.first, one.second, terms);
    for (const std::string& to : mail.to)
      if (!token.empty() && same_secret(token_in(to, terms.address), token)) return &one;
  }
  return nullptr;
}

MailVerdict ReplyBook::judge(const IncomingMail& mail, const ReplyTerms& terms, Wall now) const {
  const auto refuse = [](std::string why) {
    MailVerdict verdict;
    verdict.refused = std::move(why);
    return verdict;
  };
  if (const std::string sign = automatic_sign(mail); !sign.empty())
    return refuse("automatic (" + sign + ")");
  if (!usable_id(mail.id)) return refuse("no Message-ID of use");
  if (mail.from.size() != 1) return refuse("not from one sender");
  if (same_mailbox(mail.from[0], terms.address) || !token_in(mail.from[0], terms.address).empty())
    return refuse("from ourselves");
  const auto* answered = answered_by(mail, terms);
  if (answered == nullptr) return refuse("it answers no message of ours by that message's address");
  const auto& [message, told] = *answered;
  const auto mailboxes = terms.mailboxes_of(told.link.person);
  const auto from = std::find_if(mailboxes.begin(), mailboxes.end(), [&](const Mailbox& each) {
    return same_mailbox(each.address, mail.from[0]);
  });
  if (from == mailboxes.end()) return refuse("its sender is not the one who was told");
  if (std::find(told.taken.begin(), told.taken.end(), hash_of(mail.id)) != told.taken.end())
    return refuse("it was taken before");
  if (told.taken.size() >= limits::kRepliesAMessage)
    return refuse("too many replies to one message");

  MailVerdict verdict;
  verdict.message = message;
  verdict.told = told.link;
  verdict.channel = from->channel;
  const std::string line = first_own_line(mail.text);
  const auto word = reply_word(line);
  if (!word) {
    verdict.sentence = (line.empty() ? std::string("Your mail has no line of your own.")
                                     : "\"" + printable(line, 60) +
                                           "\" is none of the words that are understood.") +
                       " Its first line decides: ack, snooze 45, reset or status.";
  } else if (word->deed && now - told.link.told_at >= kReplyLife) {
    verdict.sentence = "That message is more than a day old: answer a newer one.";
  } else if (word->deed && !terms.may(told.link.person, *word->deed)) {
    verdict.sentence = "The configuration lets " + told.link.person + " only look.";
  } else {
    verdict.word = word;
    if (word->deed) verdict.told.deed = *word->deed;
  }
  return verdict;
}

void ReplyBook::take(const MailVerdict& verdict, const IncomingMail& mail) {
  const auto told = told_.find(verdict.message);
  if (told == told_.end()) return;
  told->second.taken.push_back(hash_of(mail.id));
  changed_.push_back(verdict.message);
}

}  // namespace clutchward
