// Which mails no person wrote.
#include "access/incoming_mail.h"

#include <gtest/gtest.h>

namespace clutchward {
namespace {

std::string sign(const std::string& name, const std::string& value,
                 const std::string& from = "mara@saltmere.example") {
  IncomingMail mail;
  mail.from = {from};
  mail.headers = {{"subject", "Re: TOO HOT"}, {name, value}};
  return automatic_sign(mail);
}

// RFC 3834, section 5: any value but "no" says automatic; RFC 2369 and 2919 have the list headers;
// Precedence and the X- headers are older custom (from memory).
TEST(AutomaticSign, IsFoundInHeaders) {
  EXPECT_EQ(sign("auto-submitted", "auto-replied"), "Auto-Submitted");
  EXPECT_EQ(sign("auto-submitted", "auto-generated (vacation)"), "Auto-Submitted");
  EXPECT_EQ(sign("auto-submitted", "Auto-Notified; owner-email=\"x\""), "Auto-Submitted");
  EXPECT_EQ(sign("auto-submitted", ""), "Auto-Submitted");
  EXPECT_EQ(sign("precedence", "bulk"), "Precedence: bulk");
  EXPECT_EQ(sign("precedence", " Auto_Reply "), "Precedence: auto_reply");
  EXPECT_EQ(sign("list-id", "<eggs.saltmere.example>"), "of a mailing list");
  EXPECT_EQ(sign("list-unsubscribe", "<mailto:x@saltmere.example>"), "of a mailing list");
  EXPECT_EQ(sign("return-path", "<>"), "an empty return path");
  EXPECT_EQ(sign("return-path", " < >"), "an empty return path");
  EXPECT_EQ(sign("content-type", "multipart/report; report-type=delivery-status"),
            "multipart/report");
  EXPECT_EQ(sign("x-autoreply", "yes"), "x-autoreply");
}

TEST(AutomaticSign, IsFoundInTheSender) {
  for (const char* from : {"MAILER-DAEMON@saltmere.example", "postmaster@saltmere.example",
                           "No-Reply@saltmere.example", "noreply@saltmere.example"})
    EXPECT_NE(sign("x-test", "1", from), "") << from;
}

TEST(AutomaticSign, IsNotInAPersonsMail) {
  EXPECT_EQ(sign("auto-submitted", "no"), "");
  EXPECT_EQ(sign("auto-submitted", " No (a person)"), "");
  EXPECT_EQ(sign("precedence", "first-class"), "");
  EXPECT_EQ(sign("return-path", "<mara@saltmere.example>"), "");
  EXPECT_EQ(sign("content-type", "text/plain; charset=utf-8"), "");
  EXPECT_EQ(sign("x-list-of-eggs", "1", "daemon@saltmere.example"), "");
}

TEST(SameMailbox, KnowsNoCase) {
  EXPECT_TRUE(same_mailbox("Mara@Saltmere.Example", "mara@saltmere.example"));
  EXPECT_FALSE(same_mailbox("mara@saltmere.example", "mara@saltmere.examples"));
  EXPECT_FALSE(same_mailbox("", ""));
}

}  // namespace
}  // namespace clutchward
