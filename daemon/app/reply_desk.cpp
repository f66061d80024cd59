// A mail comes in, is judged by the book, becomes commands of the one handler, and is answered.
#include "app/reply_desk.h"

#include <algorithm>
#include <charconv>

#include "access/answerable.h"
#include "access/role.h"
#include "app/log.h"
#include "base/text.h"
#include "notification/mail_answer.h"
#include "notification/mail_id.h"

namespace clutchward {
namespace {

constexpr const char* kMailbox = "site/mailbox";

ReplyTerms terms_of(const Settings& settings) {
  ReplyTerms terms;
  terms.site = settings.site;
  terms.address = settings.replies ? settings.replies->address : "";
  terms.domain = domain_of(settings.smtp.from);
  terms.mailboxes_of = [&settings](const std::string& contact) {
    std::vector<Mailbox> mailboxes;
    const auto found = settings.contacts.find(contact);
    if (found == settings.contacts.end()) return mailboxes;
    int index = 0;
    for (const ChannelSettings& channel : found->second) {
      if (channel.email) mailboxes.push_back({index, channel.email->address});
      ++index;
    }
    return mailboxes;
  };
  // Whoever is told may answer, unless the configuration knows him as one who only looks.
  terms.may = [&settings](const std::string& contact, Deed deed) {
    const auto person = settings.people.find(contact);
    return person == settings.people.end() || may(person->second.role, needed_for(deed));
  };
  return terms;
}

bool goes_by_mail(const Notification& message, const Settings& settings) {
  const auto contact = settings.contacts.find(message.contact);
  if (contact == settings.contacts.end() || message.channel < 0) return false;
  const auto index = static_cast<std::size_t>(message.channel);
  return index < contact->second.size() && contact->second[index].email.has_value();
}

std::uint32_t number_of(const Tree& tree, std::string_view key) {
  const std::string_view text = tree.get(key);
  std::uint32_t value = 0;
  std::from_chars(text.data(), text.data() + text.size(), value);
  return value;
}

// The deed on the very alarm that the message was about, whether it fits it or not.
Command plain_command(const Link& told, const std::string& by) {
  Command command;
  command.by = by;
  command.deed = told.deed;
  command.cabinet = told.alarm.cabinet;
  command.batch = told.alarm.batch;
  command.alarm = told.alarm.alarm;
  command.episode = told.episode;
  return command;
}

const char* done_word(Deed deed) {
  if (deed == Deed::snooze) return "snoozed";
  return deed == Deed::reset ? "reset" : "acknowledged";
}

}  // namespace

void ReplyDesk::restore(const std::vector<std::pair<std::string, Tree>>& kept) {
  book_.restore(kept);
  for (const auto& [key, tree] : kept)
    if (key == kMailbox) place_ = {number_of(tree, "validity"), number_of(tree, "uid")};
}

void ReplyDesk::configure(const Settings& settings) {
  mails_.configure(settings.replies, settings.replies ? settings.replies->address : "", place_);
}

void ReplyDesk::note(const std::vector<Notification>& messages, const Settings& settings,
                     Wall now) {
  if (!settings.replies) return;
  for (const Notification& message : messages)
    if (message.urgency != Urgency::quiet && goes_by_mail(message, settings))
      book_.note(message, now);
}

std::string ReplyDesk::address_for(const Notification& message, const Settings& settings) const {
  return settings.replies ? book_.address_for(message.id, terms_of(settings)) : "";
}

std::vector<Change> ReplyDesk::take_changes() {
  std::vector<Change> changes = book_.take_changes();
  if (std::exchange(place_changed_, false)) {
    Tree tree = Tree::map();
    tree.add("validity", std::to_string(place_.validity));
    tree.add("uid", std::to_string(place_.uid));
    changes.push_back({kMailbox, std::move(tree)});
  }
  return changes;
}

void ReplyDesk::take(Engine& engine, Announcer& announcer, const Settings& settings,
                     const Zone& zone, Moment now) {
  for (const FetchedMail& fetched : mails_.take()) {
    place_ = fetched.place;
    place_changed_ = true;
    const IncomingMail& mail = fetched.mail;
    const std::string from = mail.from.empty() ? "nobody" : printable(mail.from[0], 80);
    if (!fetched.unreadable.empty()) {
      spdlog::warn("a mail to us is left as it is: {}", printable(fetched.unreadable, 200));
      continue;
    }
    const MailVerdict verdict = book_.judge(mail, terms_of(settings), now.wall);
    if (!verdict.refused.empty()) {
      spdlog::warn("a mail from {} is left as it is: {}", from, verdict.refused);
      continue;
    }
    book_.take(verdict, mail);
    carry_out(verdict, mail, engine, announcer, {settings, zone, now.wall}, now);
    mails_.mark_seen(fetched.place);
    spdlog::info("a reply by mail from {} to message {} was taken{}", from, verdict.message,
                 verdict.word ? "" : ", and nothing done: " + verdict.sentence);
  }
}

void ReplyDesk::carry_out(const MailVerdict& verdict, const IncomingMail& mail, Engine& engine,
                          Announcer& announcer, const Manner& manner, Moment now) {
  const std::string& person = verdict.told.person;
  MailAnswer answer;
  answer.to = mail.id;
  answer.sentence = verdict.sentence;
  if (verdict.word && !verdict.word->deed) {
    Notification note = write_status(daily_cabinets(engine, engine.cabinets(), manner), manner);
    note.answers = mail.id;
    announcer.tell_over(person, verdict.channel, note, now);
    return;
  }
  if (verdict.word) {
    const auto alarms_of = [&engine](const std::string& cabinet) {
      return engine.of_cabinet(cabinet);
    };
    auto commands = commands_for(verdict.told, person, verdict.word->minutes, alarms_of);
    // Where it fits nothing, the alarm of the first line says why: in the engine's own words.
    if (commands.empty()) commands.push_back(plain_command(verdict.told, person));
    for (const Command& command : commands) {
      const Reply reply = engine.command(command, /*retained=*/false, now);
      answer.done = answer.done || reply.ok;
      if (!reply.ok && answer.sentence.empty()) answer.sentence = reply.why;
    }
    if (answer.done) answer.sentence.clear();
    answer.first = done_word(*verdict.word->deed);
  }
  std::vector<std::string> ids = verdict.told.cabinets;
  ids.insert(ids.begin(), verdict.told.alarm.cabinet);
  answer.cabinets = daily_cabinets(engine, ids, manner);
  if (verdict.told.alarm.cabinet.empty())  // of the watch itself
    answer.cabinets.insert(answer.cabinets.begin(), {manner.settings.site,
                                                     /*no_data=*/false,
                                                     std::nullopt,
                                                     std::nullopt,
                                                     {},
                                                     engine.of_cabinet("")});
  announcer.tell_over(person, verdict.channel, write_mail_answer(answer, person, manner), now);
}

}  // namespace clutchward
