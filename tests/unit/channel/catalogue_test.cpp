// What can be said of a configuration's channels before the first message.
#include "channel/catalogue.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace clutchward {
namespace {

ChannelSettings webhook(const WebhookChannel& settings) { return {settings, std::nullopt}; }
WebhookChannel plain(const std::string& url = "http://127.0.0.1/") {
  WebhookChannel settings;
  settings.url = url;
  return settings;
}
ChannelSettings email(const std::string& address) { return {std::nullopt, EmailChannel{address}}; }

TEST(Catalogue, FindsNoFaultWithChannelsThatCanWork) {
  Settings settings;
  settings.smtp.url = "smtp://127.0.0.1:2525";
  settings.smtp.from = "clutchward@saltmere.example";
  WebhookChannel own;
  own.url = "http://127.0.0.1:9000/";
  own.headers = {{"X-Title", "{{first_line}}"}};
  own.body = "{{message}}";
  settings.contacts["mara"] = {webhook(plain("https://saltmere.example/hook")), webhook(own),
                               email("mara@saltmere.example")};
  EXPECT_THAT(channel_faults(settings), testing::IsEmpty());
}

TEST(Catalogue, FindsEveryFaultAtItsPlace) {
  Settings settings;
  settings.contacts["jonas"] = {email("jonas@saltmere.example")};
  WebhookChannel without_file = plain();
  without_file.secret_file = "/nowhere/secret";
  WebhookChannel open_section = plain();
  open_section.body = "{{#batch}}";
  WebhookChannel odd_header = plain();
  odd_header.headers = {{"Not a name", "x"}};
  settings.contacts["mara"] = {
      webhook(without_file), webhook(open_section), webhook(odd_header), {}};
  EXPECT_THAT(channel_faults(settings),
              testing::ElementsAre(
                  "contacts.jonas[0]: smtp.url is not set: no mail can be sent",
                  "contacts.mara[0]: secret file /nowhere/secret: No such file or directory",
                  testing::StartsWith("contacts.mara[1]: webhook body: "),
                  "contacts.mara[2]: webhook header Not a name: not a header name",
                  "contacts.mara[3]: no kind of channel"));
}

TEST(Catalogue, FindsAFaultWithAnAddress) {
  Settings settings;
  settings.smtp.url = "smtp://127.0.0.1";
  settings.smtp.from = "clutchward";
  settings.contacts["mara"] = {email("mara@saltmere.example")};
  EXPECT_THAT(channel_faults(settings),
              testing::ElementsAre("contacts.mara[0]: smtp.from: clutchward is not a mail address: "
                                   "expected name@host"));
}

}  // namespace
}  // namespace clutchward
