// Mails, read back by GMime's parser (the functional tests let Python's read them too).
#include "channel/mail.h"

#include <gmime/gmime.h>
#include <gtest/gtest.h>

#include "example.h"

namespace clutchward {
namespace {

class Mail : public testing::Test {
 protected:
  void compose(const Notification& message, const std::string& site = "Saltmere") {
    const auto mail =
        compose_mail(message, site, {"clutchward@saltmere.example", "mara@saltmere.example"});
    ASSERT_TRUE(mail) << mail.why();
    text_ = *mail;
    GMimeStream* stream = g_mime_stream_mem_new_with_buffer(text_.data(), text_.size());
    GMimeParser* parser = g_mime_parser_new_with_stream(stream);
    message_ = g_mime_parser_construct_message(parser, nullptr);
    g_object_unref(parser);
    g_object_unref(stream);
    ASSERT_NE(message_, nullptr);
  }
  void TearDown() override {
    if (message_ != nullptr) g_object_unref(message_);
  }

  std::string header(const char* name) const {
    const char* value = g_mime_object_get_header(GMIME_OBJECT(message_), name);
    return value == nullptr ? "" : value;
  }
  int parts() const {
    return g_mime_multipart_get_count(GMIME_MULTIPART(g_mime_message_get_mime_part(message_)));
  }
  std::string part(int index, const char* type) const {
    GMimeObject* object =
        g_mime_multipart_get_part(GMIME_MULTIPART(g_mime_message_get_mime_part(message_)), index);
    EXPECT_TRUE(g_mime_content_type_is_type(g_mime_object_get_content_type(object), "text", type));
    EXPECT_EQ(g_mime_part_get_content_encoding(GMIME_PART(object)),
              GMIME_CONTENT_ENCODING_QUOTEDPRINTABLE);
    char* text = g_mime_text_part_get_text(GMIME_TEXT_PART(object));
    std::string copy = text;
    g_free(text);
    std::string unix_lines;
    for (const char c : copy)
      if (c != '\r') unix_lines += c;
    return unix_lines;
  }

  std::string text_;
  GMimeMessage* message_ = nullptr;
};

TEST_F(Mail, CarriesTheHeadersThatKeepMachinesQuietAndPeopleInformed) {
  compose(example_message());
  EXPECT_EQ(header("From"), "Clutchward Saltmere <clutchward@saltmere.example>");
  EXPECT_EQ(header("To"), "mara@saltmere.example");
  EXPECT_EQ(header("Subject"), example_message().first_line);
  EXPECT_EQ(header("Date"), "Sun, 01 Mar 2026 02:14:05 +0000");
  EXPECT_EQ(header("Message-Id"), "<20260301T021400-7_2emara-1@saltmere.example>");
  EXPECT_EQ(header("In-Reply-To"), "<20260301T021400-7@saltmere.example>");
  EXPECT_EQ(header("References"), "<20260301T021400-7@saltmere.example>");
  EXPECT_EQ(header("Auto-Submitted"), "auto-generated");
  EXPECT_EQ(header("X-Auto-Response-Suppress"), "All");
  EXPECT_EQ(header("List-Id"), "<saltmere.clutchward.saltmere.example>");
  EXPECT_EQ(header("Importance"), "high");
  EXPECT_EQ(header("X-Priority"), "1");
  EXPECT_EQ(header("MIME-Version"), "1.0");
}

TEST_F(Mail, RaisesItsVoiceOnlyWhereItIsUrgent) {
  Notification message = example_message();
  message.urgency = Urgency::medium;
  compose(message);
  EXPECT_EQ(header("Importance"), "");
  EXPECT_EQ(header("X-Priority"), "");
}

TEST_F(Mail, OpensAThreadWithTheThreadsOwnId) {
  Notification message = example_message();
  message.thread = message.id;
  compose(message);
  EXPECT_EQ(header("In-Reply-To"), "");
  EXPECT_EQ(header("References"), "");
}

TEST_F(Mail, SaysEverythingInBothParts) {
  compose(example_message());
  ASSERT_EQ(parts(), 2);
  const std::string plain = part(0, "plain");
  EXPECT_EQ(plain,
            "TOO HOT Setter A 39.8 C rising (max 39.5) since 02:14. Open the door\n\n"
            "Now: 39.8 °C, rising\nLimit: 39.5 °C\nBatch: hens-12, day 9\n"
            "Take out the eggs' tray & say \"seen\".\n\n-- \n"
            "Clutchward at Saltmere. Message 20260301T021400-7.mara-1: if it comes twice it is "
            "still one, sent again to be sure.\n");
  const std::string html = part(1, "html");
  for (const char* said :
       {"TOO HOT Setter A 39.8&nbsp;C rising (max 39.5) since 02:14. Open the door",
        "39.8&nbsp;°C, rising", "hens-12, day 9",
        "Take out the eggs&#39; tray &amp; say &quot;seen&quot;.", "20260301T021400-7.mara-1"})
    EXPECT_NE(html.find(said), std::string::npos) << said;
}

TEST_F(Mail, IsTheSameOverRetriesButForTheBoundary) {
  compose(example_message());
  const std::string id = header("Message-Id");
  g_object_unref(message_);
  compose(example_message());
  EXPECT_EQ(header("Message-Id"), id);
}

TEST_F(Mail, EndsEveryLineWithCrLfAndKeepsLinesShortAndAscii) {
  Notification message = example_message();
  message.message = "long " + std::string(3000, 'x') + "\n.\n.lf\r\nbare\rreturn\n";
  compose(message);
  std::size_t from = 0;
  for (std::size_t at = 0; at < text_.size(); ++at) {
    EXPECT_EQ(text_[at] & 0x80, 0) << at;
    if (text_[at] == '\r') {
      ASSERT_EQ(text_[at + 1], '\n') << "bare CR at " << at;
    }
    if (text_[at] != '\n') continue;
    ASSERT_TRUE(at > 0 && text_[at - 1] == '\r') << "bare LF at " << at;
    EXPECT_LE(at - from, 998U);  // RFC 5322, from memory
    from = at + 1;
  }
  const std::string plain = part(0, "plain");
  EXPECT_NE(plain.find(std::string(3000, 'x')), std::string::npos);
  EXPECT_NE(plain.find("\n.\n.lf\nbarereturn\n"), std::string::npos);
}

TEST_F(Mail, EncodesWordsOutsideAsciiInHeaders) {
  Notification message = example_message();
  message.first_line = "ZU HEISS Brüter Süd 39,8 °C";
  compose(message, "Käsemöwe");
  char* decoded = g_mime_utils_header_decode_text(nullptr, header("Subject").c_str());
  EXPECT_STREQ(decoded, "ZU HEISS Brüter Süd 39,8 °C");
  g_free(decoded);
  for (const char c : text_) ASSERT_EQ(c & 0x80, 0);
  EXPECT_EQ(header("List-Id"), "<kasemowe.clutchward.saltmere.example>");
}

TEST_F(Mail, LetsNoHeaderBeInjected) {
  Notification message = example_message();
  message.id = "a\r\nBcc: eve@elsewhere.example";
  message.thread = "b>\r\nX-Evil: 1";
  message.first_line = "TOO HOT\r\nBcc: eve@elsewhere.example\r\n\r\nbody";
  compose(message, "Salt\r\nX-Evil: 2");
  EXPECT_EQ(header("Bcc"), "");
  EXPECT_EQ(header("X-Evil"), "");
  // Nor in the parts, where a careless reader might take it for one.
  EXPECT_EQ(text_.find("\nBcc:"), std::string::npos);
  EXPECT_EQ(text_.find("\nX-Evil:"), std::string::npos);
  EXPECT_NE(header("Subject").find("TOO HOT"), std::string::npos);
}

TEST_F(Mail, ShowsLinksOnlyWherePhonesReachThem) {
  Notification message = example_message();
  message.links = {"https://e/a/1", "https://e/a/2?x&y", "https://e/a/3", false};
  EXPECT_EQ(mail_text(message, "Saltmere").find("/a/"), std::string::npos);
  EXPECT_EQ(mail_html(message, "Saltmere").find("/a/"), std::string::npos);
  message.links.in_text = true;
  EXPECT_NE(mail_text(message, "Saltmere")
                .find("\nAcknowledge: https://e/a/1\n"
                      "Snooze 30 min: https://e/a/2?x&y\n"
                      "Pass on: https://e/a/3\n"),
            std::string::npos);
  EXPECT_NE(mail_html(message, "Saltmere").find("href=\"https://e/a/2?x&amp;y\""),
            std::string::npos);
}

TEST_F(Mail, EscapesWhatStrangersCalledTheirCabinets) {
  Notification message = example_message();
  message.first_line = "TOO HOT <script>alert(1)</script> \"x\"";
  message.message =
      "<img src=x onerror=alert(1)>: </td>\n- <b>item</b>\nSee https://a.example/?a=1&b=\"><i>\n";
  const std::string html = mail_html(message, "<u>site</u>");
  for (const char* tag : {"<script>alert", "<img", "<b>item", "<i>", "<u>"})
    EXPECT_EQ(html.find(tag), std::string::npos) << tag;
  EXPECT_NE(html.find("href=\"https://a.example/?a=1&amp;b=\""), std::string::npos);
}

TEST(MailAddress, TakesOneMailboxAndNothingElse) {
  EXPECT_EQ(*mail_address("mara@saltmere.example", "email"), "mara@saltmere.example");
  EXPECT_EQ(*mail_address("Clutchward <c@saltmere.example>", "smtp.from"), "c@saltmere.example");
  for (const char* wrong :
       {"", "mara", "@saltmere.example", "mara@", "mara@a.example, jonas@a.example",
        "mara@a.example\r\nRCPT TO:<eve@b.example>", "mara@a.example\n", "ma ra@a.example",
        "mära@a.example", "\"m>a\"@a.example", "group: mara@a.example;"})
    EXPECT_FALSE(mail_address(wrong, "email")) << wrong;
  EXPECT_EQ(mail_address("mara", "email").why(),
            "email: mara is not a mail address: expected name@host");
}

}  // namespace
}  // namespace clutchward
