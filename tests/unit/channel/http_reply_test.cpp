// What a web server's answer means. The date form is RFC 9110's example (from memory).
#include "channel/http_reply.h"

#include <gtest/gtest.h>

namespace clutchward {
namespace {

using std::chrono::hours;
using std::chrono::seconds;

TEST(HttpReply, JudgesByStatus) {
  for (const long status : {200L, 201L, 202L, 204L, 299L})
    EXPECT_EQ(outcome_of_status(status), Outcome::delivered) << status;
  for (const long status : {408L, 425L, 429L, 500L, 502L, 503L, 504L, 599L})
    EXPECT_EQ(outcome_of_status(status), Outcome::try_again) << status;
  for (const long status : {0L, 100L, 199L, 301L, 302L, 307L, 308L, 400L, 401L, 404L, 410L, 600L})
    EXPECT_EQ(outcome_of_status(status), Outcome::failed) << status;
}

TEST(HttpReply, ReadsTheDateThatSendersWrite) {
  EXPECT_EQ(parse_http_date("Sun, 06 Nov 1994 08:49:37 GMT"),
            parse_rfc3339("1994-11-06T08:49:37Z"));
  for (const char* wrong : {"", "Sun, 06 Nov 1994 08:49:37", "Sunday, 06-Nov-94 08:49:37 GMT",
                            "Sun, 31 Feb 1994 08:49:37 GMT", "Sun, 06 Nov 1994 24:49:37 GMT",
                            "Sun, 06 Nov 1994 08:60:37 GMT", "Sun, 06 Xyz 1994 08:49:37 GMT",
                            "Sun, -6 Nov 1994 08:49:37 GMT", "Sun, 06 Nov 1994 08:49:37 UTC"})
    EXPECT_EQ(parse_http_date(wrong), std::nullopt) << wrong;
}

TEST(HttpReply, ReadsSecondsToWait) {
  const Wall now{};
  EXPECT_EQ(retry_after({"HTTP/1.1 429 Too Many", "Retry-After: 7"}, now), seconds{7});
  EXPECT_EQ(retry_after({"retry-after:0"}, now), seconds{0});
  EXPECT_EQ(retry_after({"RETRY-AFTER:   120\t"}, now), seconds{120});
  EXPECT_EQ(retry_after({"Retry-After: 999999999999999999999"}, now), hours{24});
  EXPECT_EQ(retry_after({"Retry-After: 86401"}, now), hours{24});
  for (const char* wrong : {"Retry-After: -1", "Retry-After: 1.5", "Retry-After: soon",
                            "Retry-After:", "Retry-After", "X-Retry-After: 5"})
    EXPECT_EQ(retry_after({wrong}, now), std::nullopt) << wrong;
}

TEST(HttpReply, ReadsADateToWaitForByTheOtherSidesClock) {
  const Wall now = *parse_rfc3339("1994-11-06T08:49:00Z");
  const std::string until = "Retry-After: Sun, 06 Nov 1994 08:49:37 GMT";
  EXPECT_EQ(retry_after({until}, now), seconds{37});
  EXPECT_EQ(retry_after({"Date: Sun, 06 Nov 1994 08:49:30 GMT", until}, now), seconds{7});
  EXPECT_EQ(retry_after({until}, now + hours{1}), seconds{0});
  EXPECT_EQ(retry_after({until}, now - hours{24 * 365}), hours{24});
}

}  // namespace
}  // namespace clutchward
