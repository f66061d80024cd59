// Which replies may be carried out: the true one, and none that was forged, repeated or late.
#include "access/reply_book.h"

#include <gmock/gmock.h>

#include "access/answerable.h"
#include "base/limits.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;
using testing::HasSubstr;

const Wall kNow = parse_rfc3339("2026-03-01T03:14:00Z").value_or(Wall{});
const char* const kNotOurs = "it answers no message of ours by that message's address";

Notification told(const std::string& id, const std::string& contact = "mara",
                  const std::string& episode = "high-17") {
  Notification message;
  message.id = id;
  message.contact = contact;
  message.subject = {"setter-a", "hens-12", "high"};
  message.episode = episode;
  message.made_at = kNow;
  AlarmEvent other;
  other.key = {"hatcher-1", "geese-3", "low"};
  message.events = {other};
  return message;
}

ReplyTerms terms(const std::string& site = "Saltmere") {
  ReplyTerms terms;
  terms.site = site;
  terms.address = "clutchward@saltmere.example";
  terms.domain = "saltmere.example";
  terms.mailboxes_of = [](const std::string& contact) -> std::vector<Mailbox> {
    if (contact == "mara") return {{1, "mara@saltmere.example"}, {2, "mara@phone.example"}};
    if (contact == "joss") return {{0, "joss@saltmere.example"}};
    return {};
  };
  terms.may = [](const std::string&, Deed deed) { return deed != Deed::reset; };
  return terms;
}

struct Desk {
  ReplyBook book;
  Desk() {
    book.note(told("m-1"), kNow);
    book.note(told("m-2", "joss"), kNow);
  }
  IncomingMail reply(const std::string& text, const std::string& message = "m-1") const {
    IncomingMail mail;
    mail.id = "r1@phone.example";
    mail.from = {"Mara@Saltmere.example"};
    mail.to = {book.address_for(message, terms())};
    mail.answers = {message + "@saltmere.example"};
    mail.text = text;
    return mail;
  }
  MailVerdict judge(const IncomingMail& mail, Wall now = kNow + 1min) const {
    return book.judge(mail, terms(), now);
  }
};

TEST(ReplyBook, TakesTheTrueReply) {
  const Desk desk;
  const MailVerdict verdict = desk.judge(desk.reply("snooze 45\n"));
  EXPECT_EQ(verdict.refused, "");
  EXPECT_EQ(verdict.sentence, "");
  EXPECT_EQ(verdict.message, "m-1");
  EXPECT_EQ(verdict.channel, 1);
  EXPECT_EQ(verdict.word, (ReplyWord{Deed::snooze, 45.0}));
  EXPECT_EQ(verdict.told.deed, Deed::snooze);
  EXPECT_EQ(verdict.told.alarm, (AlarmKey{"setter-a", "hens-12", "high"}));
  EXPECT_EQ(verdict.told.episode, "high-17");
  EXPECT_EQ(verdict.told.person, "mara");
  EXPECT_EQ(verdict.told.cabinets, std::vector<std::string>{"hatcher-1"});
}

TEST(ReplyBook, TheAddressIsShortAndBearsAnyCase) {
  const Desk desk;
  const std::string address = desk.book.address_for("m-1", terms());
  EXPECT_EQ(address.find("clutchward+"), 0U);
  EXPECT_LE(address.find('@'), 64U);  // RFC 5321, section 4.5.3.1.1
  EXPECT_NE(address, desk.book.address_for("m-2", terms()));
  IncomingMail shouted = desk.reply("ack");
  for (char& c : shouted.to[0]) c = c >= 'a' && c <= 'z' ? static_cast<char>(c - 32) : c;
  EXPECT_EQ(desk.judge(shouted).refused, "");
  EXPECT_EQ(desk.book.address_for("m-3", terms()), "");
}

TEST(ReplyBook, EverySignOfForgeryIsRefused) {
  const Desk desk;
  const auto refused = [&](const std::function<void(IncomingMail&)>& bend) {
    IncomingMail mail = desk.reply("ack");
    bend(mail);
    return desk.judge(mail).refused;
  };
  EXPECT_EQ(refused([](auto&) {}), "");
  const std::string stranger = "its sender is not the one who was told";
  EXPECT_EQ(refused([](auto& mail) { mail.from = {"eve@phone.example"}; }), stranger);
  EXPECT_EQ(refused([](auto& mail) { mail.from = {"joss@saltmere.example"}; }), stranger);
  EXPECT_EQ(refused([](auto& mail) { mail.from = {}; }), "not from one sender");
  EXPECT_EQ(refused([](auto& mail) { mail.from.push_back("eve@phone.example"); }),
            "not from one sender");
  EXPECT_EQ(refused([](auto& mail) { mail.from = {"clutchward@saltmere.example"}; }),
            "from ourselves");
  EXPECT_EQ(refused([](auto& mail) { mail.from = mail.to; }), "from ourselves");
  EXPECT_EQ(refused([](auto& mail) {
              mail.headers = {{"auto-submitted", "auto-replied"}};
            }),
            "automatic (Auto-Submitted)");
  EXPECT_EQ(refused([](auto& mail) { mail.id = ""; }), "no Message-ID of use");
  EXPECT_EQ(refused([](auto& mail) { mail.id = "a>\r\nBcc: eve"; }), "no Message-ID of use");
  EXPECT_EQ(refused([](auto& mail) { mail.id = std::string(300, 'a'); }), "no Message-ID of use");
  // Without the message that it answers, with another one's, with another one's address.
  EXPECT_EQ(refused([](auto& mail) { mail.answers = {}; }), kNotOurs);
  EXPECT_EQ(refused([](auto& mail) { mail.answers = {"m-2@saltmere.example"}; }), kNotOurs);
  EXPECT_EQ(refused([](auto& mail) { mail.answers = {"m-1@phone.example"}; }), kNotOurs);
  EXPECT_EQ(refused([&](auto& mail) { mail.to = {desk.book.address_for("m-2", terms())}; }),
            kNotOurs);
  EXPECT_EQ(refused([](auto& mail) { mail.to = {"clutchward@saltmere.example"}; }), kNotOurs);
  EXPECT_EQ(refused([](auto& mail) { mail.to = {"clutchward+@saltmere.example"}; }), kNotOurs);
  EXPECT_EQ(refused([](auto& mail) { mail.to = {}; }), kNotOurs);
  EXPECT_EQ(refused([](auto& mail) { mail.to[0].replace(mail.to[0].find('@'), 99, "@x.example"); }),
            kNotOurs);
}

// Every letter of the token changed to every other one.
TEST(ReplyBook, EveryChangedLetterOfTheTokenIsRefused) {
  const Desk desk;
  const IncomingMail good = desk.reply("ack");
  const std::string own = "clutchward+";
  for (std::size_t at = own.size(); at < good.to[0].find('@'); ++at)
    for (const char letter : std::string("abcdefghijklmnopqrstuvwxyz234567")) {
      IncomingMail bent = good;
      if (bent.to[0][at] == letter) continue;
      bent.to[0][at] = letter;
      EXPECT_EQ(desk.judge(bent).refused, kNotOurs);
    }
}

TEST(ReplyBook, AnotherSitesAndAnotherKeysTokensAreRefused) {
  const Desk desk;
  IncomingMail mail = desk.reply("ack");
  mail.to = {desk.book.address_for("m-1", terms("Elsewhere"))};
  EXPECT_EQ(desk.judge(mail).refused, kNotOurs);
  const Desk other;
  mail.to = {other.book.address_for("m-1", terms())};
  EXPECT_EQ(desk.judge(mail).refused, kNotOurs);
}

TEST(ReplyBook, NoReplyIsTakenTwiceNotEvenAfterARestart) {
  Desk desk;
  const IncomingMail mail = desk.reply("ack");
  desk.book.take(desk.judge(mail), mail);
  EXPECT_EQ(desk.judge(mail).refused, "it was taken before");
  IncomingMail next = mail;
  next.id = "r2@phone.example";
  EXPECT_EQ(desk.judge(next).refused, "");

  std::vector<std::pair<std::string, Tree>> kept;
  for (const Change& change : desk.book.take_changes())
    if (change.value) kept.emplace_back(change.key, *change.value);
  EXPECT_TRUE(desk.book.take_changes().empty());
  Desk restored;
  restored.book = {};
  restored.book.restore(kept);
  EXPECT_EQ(restored.judge(mail).refused, "it was taken before");
  EXPECT_EQ(restored.judge(next).refused, "");
  EXPECT_EQ(restored.judge(next).told, desk.judge(next).told);
  EXPECT_EQ(restored.book.address_for("m-2", terms()), desk.book.address_for("m-2", terms()));
}

TEST(ReplyBook, ALoopEndsByItself) {
  Desk desk;
  IncomingMail mail = desk.reply("I am out of the office");
  std::size_t taken = 0;
  for (int i = 0; i < 1000; ++i) {
    mail.id = "r" + std::to_string(i) + "@phone.example";
    const MailVerdict verdict = desk.judge(mail);
    if (!verdict.refused.empty()) continue;
    desk.book.take(verdict, mail);
    ++taken;
  }
  EXPECT_EQ(taken, limits::kRepliesAMessage);
  EXPECT_EQ(desk.judge(mail).refused, "too many replies to one message");
}

TEST(ReplyBook, WhatIsOursAndCannotBeDoneIsSaid) {
  const Desk desk;
  const auto sentence = [&](const std::string& text, Wall now = kNow + 1min) {
    const MailVerdict verdict = desk.judge(desk.reply(text), now);
    EXPECT_EQ(verdict.refused, "");
    EXPECT_EQ(verdict.word, std::nullopt);
    return verdict.sentence;
  };
  EXPECT_THAT(sentence("thanks!\n"), HasSubstr("\"thanks!\" is none of the words"));
  EXPECT_THAT(sentence("> ack\n"), HasSubstr("no line of your own"));
  EXPECT_THAT(sentence("reset"), HasSubstr("lets mara only look"));
  EXPECT_THAT(sentence("ack", kNow + kReplyLife), HasSubstr("more than a day old"));
  EXPECT_EQ(desk.judge(desk.reply("status"), kNow + kReplyLife).word, ReplyWord{});
}

TEST(ReplyBook, ForgetsTheOldestAndWhatIsLongOver) {
  Desk desk;
  for (std::size_t i = 0; i < limits::kAnswerableMessages; ++i) {
    Notification message = told("n-" + std::to_string(i));
    message.made_at = kNow + 1min;
    desk.book.note(message, kNow + 1min);
  }
  EXPECT_EQ(desk.book.address_for("m-1", terms()), "");
  EXPECT_NE(desk.book.address_for("n-1", terms()), "");
  desk.book.note(told("late"), kNow + 30 * kReplyLife);
  EXPECT_EQ(desk.book.address_for("n-1", terms()), "");
  Notification quiet = told("test");
  quiet.episode.clear();  // a test message: no alarm to answer
  desk.book.note(quiet, kNow);
  EXPECT_EQ(desk.book.address_for("test", terms()), "");
}

TEST(ReplyBook, KeysChangeAndKeepWhatTheySigned) {
  Desk desk;
  const std::string before = desk.book.address_for("m-1", terms());
  for (int day = 1; day < 6; ++day) {
    Notification message = told("d-" + std::to_string(day));
    message.made_at = kNow + day * kLinkLife;
    desk.book.note(message, message.made_at);
  }
  EXPECT_EQ(desk.book.address_for("m-1", terms()), before);
}

AlarmView standing(const AlarmKey& key, const std::string& episode, Wall raised_at) {
  AlarmView view;
  view.key = key;
  view.state = AlarmState::unacknowledged;
  view.active = true;
  view.episode = episode;
  view.raised_at = raised_at;
  view.snooze_max = 2h;
  return view;
}

TEST(CommandsFor, CoverWhatTheMessageToldAndNothingNewer) {
  const Desk desk;
  const MailVerdict verdict = desk.judge(desk.reply("snooze 600"));
  const auto alarms_of = [](const std::string& cabinet) -> std::vector<AlarmView> {
    if (cabinet == "setter-a")
      return {standing({"setter-a", "hens-12", "high"}, "high-17", kNow),
              standing({"setter-a", "hens-12", "warm"}, "warm-18", kNow + 30s)};
    return {standing({"hatcher-1", "geese-3", "low"}, "low-3", kNow - 1h)};
  };
  const auto commands = commands_for(verdict.told, "mara", 600.0, alarms_of);
  ASSERT_EQ(commands.size(), 2U);
  EXPECT_EQ(commands[0].alarm, "high");
  EXPECT_EQ(commands[0].by, "mara");
  EXPECT_EQ(commands[0].episode, "high-17");
  EXPECT_EQ(commands[0].minutes, 120.0);  // cut to what the alarm allows
  EXPECT_EQ(commands[1].cabinet, "hatcher-1");
}

TEST(CommandsFor, AnAlarmRaisedAnewIsAnotherMatter) {
  const Desk desk;
  const MailVerdict verdict = desk.judge(desk.reply("ack"));
  const auto alarms_of = [](const std::string& cabinet) -> std::vector<AlarmView> {
    if (cabinet != "setter-a") return {};
    return {standing({"setter-a", "hens-12", "high"}, "high-18", kNow + 1h)};
  };
  EXPECT_TRUE(commands_for(verdict.told, "mara", std::nullopt, alarms_of).empty());
}

}  // namespace
}  // namespace clutchward
