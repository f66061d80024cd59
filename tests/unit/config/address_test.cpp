// Addresses by their form.
#include "config/address.h"

#include <gtest/gtest.h>

namespace clutchward {
namespace {

TEST(Urls, OfTheWantedSchemesWithAHostPass) {
  for (const char* url :
       {"mqtt://127.0.0.1", "mqtt://127.0.0.1:1883", "mqtts://broker.example:8883", "mqtt://[::1]",
        "mqtt://[2001:db8::7]:1883", "mqtt://cellar_pi:65535"}) {
    EXPECT_EQ(url_fault(url, {"mqtt", "mqtts"}, false), "") << url;
  }
  EXPECT_EQ(url_fault("https://a.example/b?c=d#e", {"http", "https"}, true), "");
  EXPECT_EQ(url_fault("https://a.example?c=d@e", {"http", "https"}, true), "");
}

TEST(Urls, OfAnotherFormDoNot) {
  for (const char* url : {"",
                          "mqtt",
                          "mqtt:",
                          "mqtt://",
                          "mqtt:///",
                          "mqtt://:1883",
                          "mqtt://a:",
                          "mqtt://a:0",
                          "mqtt://a:01883",
                          "mqtt://a:65536",
                          "mqtt://a:123456",
                          "mqtt://a:18x",
                          "mqtt://-a",
                          "mqtt://a..b",
                          "mqtt://.a",
                          "mqtt://a b",
                          "mqtt://[::1",
                          "mqtt://[]",
                          "mqtt://[127.0.0.1]",
                          "mqtt://[::1]1883",
                          "mqtt://u@a",
                          "mqtt://u:p@a",
                          "mqtt://a/",
                          "mqtt://a?b",
                          "MQTT://a",
                          "mqtt://a\r\nb",
                          "mqtt://\xC3\xA4",
                          "tcp://a",
                          "xmqtt://a"}) {
    EXPECT_NE(url_fault(url, {"mqtt", "mqtts"}, false), "") << url;
  }
  EXPECT_NE(url_fault("http://" + std::string(2000, 'a'), {"http"}, true), "");
}

TEST(Emails, AreLocalAtDomainInPlainAscii) {
  for (const char* text : {"mara@saltmere.example", "m+eggs@localhost", "o'dile@a-b.example",
                           "first.last@x.y.z", "a@1.2.3.4"}) {
    EXPECT_TRUE(valid_email(text)) << text;
  }
  for (const char* text : {"",
                           "@",
                           "mara",
                           "mara@",
                           "@saltmere.example",
                           "a@b@c",
                           "a b@c",
                           "a@b c",
                           "a@b\n",
                           "a\r\nBcc: x@y",
                           "<a@b>",
                           "\"a\"@b",
                           "a,b@c",
                           "a@b,c@d",
                           "a..b@c",
                           ".a@b",
                           "a.@b",
                           "a@-b",
                           "a@b..c",
                           "a@[::1]",
                           "m\xC3\xA4ra@b",
                           "a;@b",
                           "(x)a@b"}) {
    EXPECT_FALSE(valid_email(text)) << text;
  }
  EXPECT_FALSE(valid_email(std::string(65, 'a') + "@b"));
  EXPECT_FALSE(valid_email("a@" + std::string(60, 'b') + "." + std::string(60, 'b') + "." +
                           std::string(60, 'b') + "." + std::string(60, 'b') + "." +
                           std::string(60, 'b')));
}

TEST(Listening, WantsANumericAddressAndAPort) {
  for (const char* text : {"127.0.0.1:8742", "0.0.0.0:1", "[::1]:8742", "[::]:65535"}) {
    EXPECT_TRUE(valid_listen(text)) << text;
  }
  for (const char* text : {"", "8742", ":8742", "127.0.0.1", "127.0.0.1:", "127.0.0.1:0",
                           "127.0.0.1:65536", "localhost:8742", "::1:8742", "[::1]",
                           "[::1]:", "256.0.0.1:80", "127.1:80", "127.0.0.1:80 "}) {
    EXPECT_FALSE(valid_listen(text)) << text;
  }
}

TEST(Headers, AreTokensWithPlainValues) {
  EXPECT_TRUE(valid_header_name("X-Farm_1.2"));
  for (const char* name : {"", "X Y", "X:Y", "X\n", "\xC3\xA4"}) {
    EXPECT_FALSE(valid_header_name(name)) << name;
  }
  EXPECT_TRUE(valid_header_value("Bearer abc\tdef \xC3\xA4"));
  EXPECT_TRUE(valid_header_value(""));
  EXPECT_FALSE(valid_header_value("a\r\nX-Evil: 1"));
  EXPECT_FALSE(valid_header_value("a\x7F"));
  EXPECT_FALSE(valid_header_value(std::string("a\0b", 3)));
}

}  // namespace
}  // namespace clutchward
