// What webhooks say: the CloudEvents form compared key by key, and templates that hostile values
// cannot break out of.
#include "channel/webhook_body.h"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "example.h"

namespace clutchward {
namespace {

using nlohmann::json;

TEST(WebhookBody, IsACloudEventWithThePublishedData) {
  const Notification message = example_message();
  const json event = json::parse(cloud_event(message, "Saltmere"));
  EXPECT_EQ(event, json::parse(R"({
    "specversion": "1.0", "id": "20260301T021400-7.mara-1", "source": "/clutchward/Saltmere",
    "type": "clutchward.alarm.v1", "subject": "setter-a/hens-12/high",
    "time": "2026-03-01T02:14:05.250Z", "datacontenttype": "application/json",
    "data": {
      "first_line": "TOO HOT Setter A 39.8 C rising (max 39.5) since 02:14. Open the door",
      "message": "TOO HOT Setter A 39.8 C rising (max 39.5) since 02:14. Open the door\n\nNow: 39.8 °C, rising\nLimit: 39.5 °C\nBatch: hens-12, day 9\nTake out the eggs' tray & say \"seen\".\n",
      "urgency": "high", "episode": "hens-12.high.7",
      "events": [{"at": "2026-03-01T02:14:00.000Z", "cabinet": "setter-a", "batch": "hens-12",
                  "alarm": "high", "event": "raised", "value": 39.8, "limit": 39.5,
                  "worst": 39.8, "by": null}]
    }})"));
}

TEST(WebhookBody, CarriesLinksWhereThereAreAny) {
  Notification message = example_message();
  EXPECT_FALSE(nlohmann::json::parse(cloud_event(message, "Saltmere"))["data"].contains("links"));
  message.links = {"http://e/a/1", "http://e/a/2", "http://e/a/3", false};
  const auto links = nlohmann::json::parse(cloud_event(message, "Saltmere"))["data"]["links"];
  EXPECT_EQ(links["acknowledge"], "http://e/a/1");
  EXPECT_EQ(links["snooze"], "http://e/a/2");
  EXPECT_EQ(links["pass_on"], "http://e/a/3");
  const auto filled = fill_template("{{{acknowledge}}} {{{snooze}}} {{{pass_on}}}", message,
                                    "Saltmere", Escape::none);
  EXPECT_EQ(*filled, "http://e/a/1 http://e/a/2 http://e/a/3");
}

TEST(WebhookBody, LeavesOutASubjectThatIsNotThere) {
  Notification message = example_message();
  message.subject = {};
  message.events.clear();
  const json event = json::parse(cloud_event(message, "Salt mere/ß"));
  EXPECT_FALSE(event.contains("subject"));  // CloudEvents: absent or not empty
  EXPECT_EQ(event["type"], "clutchward.message.v1");
  EXPECT_EQ(event["source"], "/clutchward/Salt%20mere%2F%C3%9F");  // a URI reference
  message.subject = {"", "", "broker"};
  EXPECT_EQ(json::parse(cloud_event(message, ""))["subject"], "broker");
}

TEST(WebhookBody, SurvivesBytesThatAreNotText) {
  Notification message = example_message();
  message.message =
      "a\xff"
      "b";
  EXPECT_EQ(json::parse(cloud_event(message, "Saltmere"))["data"]["message"],
            "a\xEF\xBF\xBD"
            "b");
}

TEST(WebhookTemplate, ChoosesTheEscapeByMediaType) {
  EXPECT_EQ(escape_for("application/json"), Escape::json);
  EXPECT_EQ(escape_for("Application/JSON; charset=utf-8"), Escape::json);
  EXPECT_EQ(escape_for("application/vnd.example+json ;x=y"), Escape::json);
  EXPECT_EQ(escape_for("application/x-www-form-urlencoded"), Escape::form);
  EXPECT_EQ(escape_for("text/plain"), Escape::none);
  EXPECT_EQ(escape_for(""), Escape::none);
}

TEST(WebhookTemplate, FillsEveryVariable) {
  const auto text = fill_template(
      "{{first_line}}|{{urgency}}|{{episode}}|{{contact}}|{{id}}|{{site}}|{{cabinet}}|{{batch}}|"
      "{{alarm}}|{{event}}|{{acknowledge}}|{{snooze}}|{{pass_on}}",
      example_message(), "Saltmere", Escape::none);
  ASSERT_TRUE(text) << text.why();
  EXPECT_EQ(
      *text,
      "TOO HOT Setter A 39.8 C rising (max 39.5) since 02:14. Open the door|high|"
      "hens-12.high.7|mara|20260301T021400-7.mara-1|Saltmere|setter-a|hens-12|high|raised|||");
}

TEST(WebhookTemplate, ShowsNoSectionOfAValueThatIsNotThere) {
  const auto text = fill_template(
      "{{#batch}}B{{/batch}}{{^batch}}no "
      "batch{{/batch}}{{#snooze}}S{{/snooze}}{{#alarm}}A{{/alarm}}",
      [] {
        Notification message = example_message();
        message.subject.batch.clear();
        return message;
      }(),
      "Saltmere", Escape::none);
  ASSERT_TRUE(text) << text.why();
  EXPECT_EQ(*text, "no batchA");
}

TEST(WebhookTemplate, KeepsHostileValuesInsideJson) {
  Notification message = example_message();
  message.message = "\",\"admin\":true,\"x\":\"\n\t\\ {{id}} \x01 °\xff";
  const auto text = fill_template(R"({"text":"{{message}}"})", message, "Saltmere", Escape::json);
  ASSERT_TRUE(text) << text.why();
  const json read = json::parse(*text);
  EXPECT_EQ(read.size(), 1U);
  EXPECT_EQ(read["text"], "\",\"admin\":true,\"x\":\"\n\t\\ {{id}} \x01 °\xEF\xBF\xBD");
}

TEST(WebhookTemplate, KeepsHostileValuesInsideAForm) {
  Notification message = example_message();
  message.message = "a&admin=1 +%\n°";
  const auto text = fill_template("text={{message}}&p=1", message, "Saltmere", Escape::form);
  ASSERT_TRUE(text) << text.why();
  EXPECT_EQ(*text, "text=a%26admin%3D1%20%2B%25%0A%C2%B0&p=1");
}

TEST(WebhookTemplate, WritesPlainTextAsItIs) {
  Notification message = example_message();
  message.message = "a < b & \"c\"";
  const auto text = fill_template("{{message}}", message, "Saltmere", Escape::none);
  ASSERT_TRUE(text) << text.why();
  EXPECT_EQ(*text, "a < b & \"c\"");
}

TEST(WebhookTemplate, RefusesATemplateThatDoesNotParse) {
  for (const char* wrong : {"{{message", "{{#batch}}never closed", "{{/batch}}", "{{#a}}{{/b}}"}) {
    const auto text = fill_template(wrong, example_message(), "Saltmere", Escape::none);
    EXPECT_FALSE(text) << wrong;
    EXPECT_NE(text.why(), "") << wrong;
  }
}

TEST(WebhookTemplate, KnowsWhatMayStandInAHeader) {
  EXPECT_TRUE(fit_for_header("Bearer abc\tdef °"));
  for (const std::string& wrong :
       {std::string("a\r\nBcc: x"), std::string("a\nb"), std::string("a\rb"),
        std::string("a\0b", 3), std::string("\x7f")})
    EXPECT_FALSE(fit_for_header(wrong));
}

}  // namespace
}  // namespace clutchward
