// What a mail server's answers mean, and where a server is this very machine.
#include "channel/smtp_reply.h"

#include <gtest/gtest.h>

#include "channel/transfer.h"

namespace clutchward {
namespace {

Carried judge(CURLcode code, std::vector<std::string> lines) {
  return judge_smtp(code, lines, "what libcurl says");
}

TEST(SmtpReply, SaysWhatTheServerSaidOfTheMail) {
  const Carried carried = judge(CURLE_OK, {"220 hello", "250 OK queued as 7", "221 Bye"});
  EXPECT_EQ(carried.outcome, Outcome::delivered);
  EXPECT_EQ(carried.detail, "250 OK queued as 7");
}

TEST(SmtpReply, TriesAgainAfterATemporaryRefusal) {
  const Carried carried =
      judge(CURLE_WEIRD_SERVER_REPLY, {"250 OK", "451 greylisted, come back", "221 Bye"});
  EXPECT_EQ(carried.outcome, Outcome::try_again);
  EXPECT_EQ(carried.detail, "451 greylisted, come back");
}

TEST(SmtpReply, GivesUpOnAPermanentRefusal) {
  const Carried carried = judge(CURLE_SEND_ERROR, {"250-A", "250 B", "550-no such", "550 mailbox"});
  EXPECT_EQ(carried.outcome, Outcome::failed);
  EXPECT_EQ(carried.detail, "550 mailbox");
}

TEST(SmtpReply, SaysThatThePasswordWasRefused) {
  const Carried carried = judge(CURLE_LOGIN_DENIED, {"334 ", "535 5.7.8 no"});
  EXPECT_EQ(carried.outcome, Outcome::failed);
  EXPECT_EQ(carried.detail, "the password was refused: 535 5.7.8 no");
  EXPECT_EQ(judge(CURLE_LOGIN_DENIED, {"454 4.7.0 later"}).outcome, Outcome::try_again);
}

TEST(SmtpReply, TriesAgainWhereTheWayFailed) {
  for (const CURLcode code : {CURLE_OPERATION_TIMEDOUT, CURLE_COULDNT_CONNECT,
                              CURLE_COULDNT_RESOLVE_HOST, CURLE_PEER_FAILED_VERIFICATION,
                              CURLE_SSL_CONNECT_ERROR, CURLE_RECV_ERROR, CURLE_ABORTED_BY_CALLBACK})
    EXPECT_EQ(judge(code, {}).outcome, Outcome::try_again) << code;
  EXPECT_EQ(judge(CURLE_OPERATION_TIMEDOUT, {"354 go on"}).detail,
            "what libcurl says (last answer: 354 go on)");
  // A way to log in that was refused before another was taken is not the verdict.
  EXPECT_EQ(judge(CURLE_OPERATION_TIMEDOUT, {"504 not that way", "235 in"}).outcome,
            Outcome::try_again);
}

TEST(SmtpReply, MakesWhatTheServerSaysPrintable) {
  EXPECT_EQ(judge(CURLE_SEND_ERROR, {"550 \x1b[31mred"}).detail.find('\x1b'), std::string::npos);
}

TEST(Loopback, IsThisMachineAlone) {
  for (const char* here :
       {"smtp://127.0.0.1", "smtp://127.0.0.1:2525", "smtp://127.8.9.10:25", "smtp://localhost",
        "smtp://localhost:2525", "smtp://[::1]:25", "smtp://127.1:25", "smtp://2130706433"})
    EXPECT_TRUE(is_loopback_url(here)) << here;
  for (const char* elsewhere :
       {"smtp://mail.saltmere.example", "smtp://localhost.saltmere.example", "smtp://128.0.0.1",
        "smtp://127.0.0.1.saltmere.example", "smtp://127.0.0.1@mail.saltmere.example",
        "smtp://[::2]", "smtp://0.0.0.0", "", "127.0.0.1", "smtp://"})
    EXPECT_FALSE(is_loopback_url(elsewhere)) << elsewhere;
}

}  // namespace
}  // namespace clutchward
