// Mails as people's programs write them, and as nobody's should.
#include "channel/mail_read.h"

#include <gtest/gtest.h>

#include "access/reply_word.h"
#include "base/limits.h"

namespace clutchward {
namespace {

using Texts = std::vector<std::string>;

const std::string kHead =
    "Return-Path: <mara@saltmere.example>\r\n"
    "Message-ID: <r1@phone.example>\r\n"
    "From: =?utf-8?q?Mara_=C3=93_B?= <mara@saltmere.example>\r\n"
    "To: Clutchward Saltmere <clutchward+q6abc@saltmere.example>,\r\n joss@saltmere.example\r\n"
    "Cc: Eggs: a@saltmere.example;\r\n"
    "Subject: Re: TOO HOT\r\n"
    "In-Reply-To: <m-1@saltmere.example>\r\n"
    "References: <root@saltmere.example>\r\n <m-1@saltmere.example>\r\n";

IncomingMail mail(const std::string& rest) {
  auto read = read_mail(kHead + rest);
  EXPECT_TRUE(read) << read.why();
  return read ? *read : IncomingMail{};
}

TEST(ReadMail, ReadsWhatADecisionNeeds) {
  const IncomingMail read = mail("Auto-Submitted: no\r\n\r\nack\r\n");
  EXPECT_EQ(read.id, "r1@phone.example");
  EXPECT_EQ(read.from, Texts{"mara@saltmere.example"});
  EXPECT_EQ(read.to, (Texts{"clutchward+q6abc@saltmere.example", "joss@saltmere.example", ""}));
  EXPECT_EQ(read.answers,
            (Texts{"m-1@saltmere.example", "root@saltmere.example", "m-1@saltmere.example"}));
  EXPECT_EQ(first_own_line(read.text), "ack");
  bool returns = false;
  for (const auto& [name, value] : read.headers)
    returns = returns || (name == "return-path" && value == "<mara@saltmere.example>");
  EXPECT_TRUE(returns);
  EXPECT_EQ(automatic_sign(read), "");
}

TEST(ReadMail, PrefersThePlainPartAndDecodesIt) {
  const IncomingMail read = mail(
      "MIME-Version: 1.0\r\nContent-Type: multipart/mixed; boundary=x\r\n\r\n"
      "--x\r\nContent-Type: multipart/alternative; boundary=y\r\n\r\n"
      "--y\r\nContent-Type: text/html; charset=utf-8\r\n\r\n<p>reset</p>\r\n"
      "--y\r\nContent-Type: text/plain; charset=iso-8859-1\r\n"
      "Content-Transfer-Encoding: base64\r\n\r\nc25vb3plIDQ1CrAK\r\n--y--\r\n"
      "--x\r\nContent-Type: text/plain\r\nContent-Disposition: attachment\r\n\r\nstatus\r\n"
      "--x--\r\n");
  EXPECT_EQ(first_own_line(read.text), "snooze 45");
  EXPECT_NE(read.text.find("\xc2\xb0"), std::string::npos);
}

TEST(ReadMail, ReadsHtmlWhereThereIsNothingElse) {
  const IncomingMail read = mail(
      "Content-Type: text/html; charset=utf-8\r\nContent-Transfer-Encoding: "
      "quoted-printable\r\n\r\n"
      "<html><head><title>x</title><style>p {}</style></head><body><div>\r\n"
      "  <b>Sno</b>oze&nbsp;45</div><blockquote>reset</blockquote></body></html>\r\n");
  EXPECT_EQ(reply_word(first_own_line(read.text)), (ReplyWord{Deed::snooze, 45.0}));
  EXPECT_EQ(first_own_line(text_of_html("<div><br></div><p>Ack</p><p>more</p>")), "Ack");
}

TEST(TextOfHtml, IsWhatAReaderSees) {
  EXPECT_EQ(text_of_html("<p>a &lt;b&gt;\n\n c</p><p>d<br>e</p>"), "a <b> c\nd\ne\n");
  EXPECT_EQ(text_of_html("<script>ack</script><blockquote>ack</blockquote>reset"), "reset\n");
  EXPECT_EQ(text_of_html(""), "");
  EXPECT_EQ(text_of_html("ack"), "ack\n");
  EXPECT_EQ(text_of_html("<div>ack"), "ack\n");
  std::string deep;
  for (int i = 0; i < 50'000; ++i) deep += "<div>";
  text_of_html(deep + "ack");  // it ends
}

TEST(ReadMail, BearsWhatAStrangerMaySend) {
  EXPECT_FALSE(read_mail(std::string(limits::kMailBytes + 1, 'a')));
  EXPECT_FALSE(read_mail(""));
  std::string headers;
  for (int i = 0; i < 500; ++i) headers += "X-A: b\r\n";
  EXPECT_FALSE(read_mail(kHead + headers + "\r\nack\r\n"));
  const auto two = read_mail("From: a@b, c@d\r\n\r\nack");
  ASSERT_TRUE(two);
  EXPECT_EQ(two->from.size(), 2U);
}

TEST(ReadMail, EndsOnAMailThatHoldsItselfAThousandTimes) {
  std::string nested = kHead;
  for (int i = 0; i < 1500; ++i) {
    const std::string name = "b" + std::to_string(i);
    nested += "Content-Type: multipart/mixed; boundary=" + name + "\r\n\r\n--" + name + "\r\n";
  }
  nested += "\r\nack\r\n";
  ASSERT_LT(nested.size(), limits::kMailBytes);
  EXPECT_EQ(mail(nested.substr(kHead.size())).from.size(), 1U);
}

}  // namespace
}  // namespace clutchward
