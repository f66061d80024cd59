// Times and spans as text: against the C library's calendar, and what must be refused.
#include "base/time.h"

#include <gtest/gtest.h>

#include <ctime>
#include <random>

namespace clutchward {
namespace {

using namespace std::chrono_literals;

Wall at(std::int64_t milliseconds) { return Wall(Span(milliseconds)); }

TEST(Rfc3339, WritesUtcWithMilliseconds) {
  EXPECT_EQ(to_rfc3339(at(0)), "1970-01-01T00:00:00.000Z");
  EXPECT_EQ(to_rfc3339(at(1'772'355'600'000)), "2026-03-01T09:00:00.000Z");
  EXPECT_EQ(to_rfc3339(at(-1)), "1969-12-31T23:59:59.999Z");
  EXPECT_EQ(to_rfc3339(at(1'709'208'000'007)), "2024-02-29T12:00:00.007Z");
}

TEST(Rfc3339, ReadsWhatTheStandardAllows) {
  const Wall nine = at(1'772'355'600'000);
  for (const char* text :
       {"2026-03-01T09:00:00Z", "2026-03-01t09:00:00z", "2026-03-01 09:00:00.000Z",
        "2026-03-01T09:00:00.0Z", "2026-03-01T09:00:00+00:00", "2026-03-01T09:00:00-00:00",
        "2026-03-01T10:00:00+01:00", "2026-03-01T03:30:00-05:30", "2026-03-02T08:59:00+23:59",
        "2026-03-01T14:45:00.00000000000000000000000000+05:45"})
    EXPECT_EQ(parse_rfc3339(text), nine) << text;
}

// The worked examples of RFC 3339 section 5.8 (from memory), but for the two leap seconds.
TEST(Rfc3339, ReadsTheExamplesOfSection5_8) {
  EXPECT_EQ(to_rfc3339(*parse_rfc3339("1985-04-12T23:20:50.52Z")), "1985-04-12T23:20:50.520Z");
  EXPECT_EQ(to_rfc3339(*parse_rfc3339("1996-12-19T16:39:57-08:00")), "1996-12-20T00:39:57.000Z");
  EXPECT_EQ(to_rfc3339(*parse_rfc3339("1937-01-01T12:00:27.87+00:20")), "1937-01-01T11:40:27.870Z");
  EXPECT_FALSE(parse_rfc3339("1990-12-31T23:59:60Z"));
  EXPECT_FALSE(parse_rfc3339("1990-12-31T15:59:60-08:00"));
}

TEST(Rfc3339, RoundsHalfUpToMilliseconds) {
  const auto milliseconds = [](const char* text) {
    return parse_rfc3339(text)->time_since_epoch().count();
  };
  EXPECT_EQ(milliseconds("1970-01-01T00:00:00.0004999Z"), 0);
  EXPECT_EQ(milliseconds("1970-01-01T00:00:00.0005Z"), 1);
  EXPECT_EQ(milliseconds("1970-01-01T00:00:00.1Z"), 100);
  EXPECT_EQ(milliseconds("1970-01-01T00:00:00.12Z"), 120);
  EXPECT_EQ(milliseconds("1970-01-01T00:00:59.9995Z"), 60'000);
  // Half up also before 1970: -0.5 ms becomes 0.
  EXPECT_EQ(milliseconds("1969-12-31T23:59:59.9995Z"), 0);
  EXPECT_EQ(milliseconds("1969-12-31T23:59:59.9994Z"), -1);
}

TEST(Rfc3339, RefusesEverythingElse) {
  for (const char* text : {"",
                           "2026",
                           "2026-03-01",
                           "2026-03-01T09:00:00",
                           "2026-03-01T09:00Z",
                           "2026-02-29T09:00:00Z",
                           "2026-02-30T09:00:00Z",
                           "2026-00-01T09:00:00Z",
                           "2026-13-01T09:00:00Z",
                           "2026-04-31T09:00:00Z",
                           "2026-03-00T09:00:00Z",
                           "2026-03-01T24:00:00Z",
                           "2026-03-01T09:60:00Z",
                           "2026-03-01T09:00:60Z",
                           "2026-03-01T09:00:61Z",
                           "2026-03-01T09:00:00.Z",
                           "2026-03-01T09:00:00,5Z",
                           "2026-03-01T09:00:00ZZ",
                           "2026-03-01T09:00:00Z ",
                           " 2026-03-01T09:00:00Z",
                           "2026-03-01_09:00:00Z",
                           "2026/03/01T09:00:00Z",
                           "2026-03-01T09.00.00Z",
                           "2026-03-01T09:00:00+0100",
                           "2026-03-01T09:00:00Z+0000",
                           "2026-03-01T09:00:00+24:00",
                           "2026-03-01T09:00:00+01:60",
                           "2026-03-01T09:00:00+1:00",
                           "2026-03-01T09:00:00+01",
                           "2026-03-01T09:00:00+",
                           "+2026-03-01T09:00:00Z",
                           "2026-3-01T09:00:00Z",
                           "20a6-03-01T09:00:00Z",
                           "2026-03-01T09:00:00.5",
                           "2026-03-01T-9:00:00Z"})
    EXPECT_FALSE(parse_rfc3339(text)) << text;
}

TEST(Rfc3339, AgreesWithTheCalendarOfTheCLibrary) {
  std::mt19937_64 random(20260301);
  // The years 1 to 9999.
  std::uniform_int_distribution<std::int64_t> seconds(-62'135'596'800, 253'402'300'799);
  for (int i = 0; i < 50'000; ++i) {
    const std::time_t second = seconds(random);
    std::tm fields{};
    ASSERT_NE(gmtime_r(&second, &fields), nullptr);
    char expected[96];
    std::snprintf(expected, sizeof expected, "%04d-%02d-%02dT%02d:%02d:%02d.250Z",
                  fields.tm_year + 1900, fields.tm_mon + 1, fields.tm_mday, fields.tm_hour,
                  fields.tm_min, fields.tm_sec);
    const Wall time = at(second * 1000 + 250);
    ASSERT_EQ(to_rfc3339(time), expected);
    ASSERT_EQ(parse_rfc3339(expected), time) << expected;
  }
}

// As mosquitto_sub 2.0.11 was seen to print with -F %j in UTC and in Asia/Kathmandu.
TEST(RecordedTime, ReadsWhatTheStockClientWrites) {
  EXPECT_EQ(to_rfc3339(*parse_recorded_time("2026-11-25T13:58:06.379916Z+0000")),
            "2026-11-25T13:58:06.380Z");
  EXPECT_EQ(to_rfc3339(*parse_recorded_time("2026-11-25T19:43:06.888150Z+0545")),
            "2026-11-25T13:58:06.888Z");
  EXPECT_EQ(to_rfc3339(*parse_recorded_time("2026-11-25T08:58:06.888150-0500")),
            "2026-11-25T13:58:06.888Z");
  EXPECT_EQ(parse_recorded_time("2026-03-01T08:00:00.000000Z"),
            parse_rfc3339("2026-03-01T08:00:00Z"));
  for (const char* text : {"2026-11-25T13:58:06ZZ", "2026-11-25T13:58:06Z+", "2026-11-25T13:58:06",
                           "2026-11-25T13:58:06Z+00:0", "2026-11-25T13:58:06Z+2400"})
    EXPECT_FALSE(parse_recorded_time(text)) << text;
}

TEST(ParseSpan, ReadsSpansAsSystemdWritesThem) {
  const std::pair<const char*, Span> cases[] = {
      {"45min", 45min},
      {"1h 30min", 90min},
      {"1h30min", 90min},
      {"2.5h", 150min},
      {"90", 90s},
      {"0s", 0s},
      {"0", 0s},
      {" 5 min ", 5min},
      {"250ms", 250ms},
      {"250msec", 250ms},
      {"1500us", 2ms},
      {"1499usec", 1ms},
      {"500\xC2\xB5s", 1ms},
      {"500\xCE\xBCs", 1ms},
      {"1second", 1s},
      {"2 seconds", 2s},
      {"3sec", 3s},
      {"1m", 1min},
      {"1minute", 1min},
      {"2minutes", 2min},
      {"1hr", 1h},
      {"1hour", 1h},
      {"2hours", 2h},
      {"1d", 24h},
      {"1day", 24h},
      {"21days", 504h},
      {"1w", 168h},
      {"1week", 168h},
      {"2weeks", 336h},
      {"1.5", 1500ms},
      {".7", 700ms},
      {"0.1h", 6min},
      {"1w 2d 3h", 219h},
      {"1min 1h", 61min},
      {"0.0004s", 0ms},
      {"0.0005s", 1ms},
      {"1h\n2min", 62min},
      {"1h 1h", 2h},
      {"0.00001d", 864ms},
      {"12.345s", 12345ms},
  };
  for (const auto& [text, span] : cases) EXPECT_EQ(parse_span(text), span) << text;
}

TEST(ParseSpan, RefusesEverythingElse) {
  for (const char* text : {"",
                           " ",
                           "-5s",
                           "-1",
                           "+5s",
                           "s",
                           "min",
                           "5 bananas",
                           "5 Min",
                           "5M",
                           "1month",
                           "1y",
                           "1year",
                           "1h 30",
                           "30 1h",
                           "5 5",
                           "3.s",
                           "3. 1s",
                           "12.34.56",
                           "12..34",
                           "..7",
                           "1e3",
                           "0x10",
                           "5,5s",
                           "infinity",
                           "1h-30min",
                           "1h,30min",
                           "99999999999999999999s",
                           "9223372036854775807w",
                           "9223372036854775807us 1us",
                           "nan",
                           "1 h our",
                           "5s.",
                           "10:30"})
    EXPECT_FALSE(parse_span(text)) << text;
  EXPECT_FALSE(parse_span(std::string_view("5\0s", 3)));
}

TEST(SpanText, LargestUnitFirst) {
  EXPECT_EQ(to_text(90min), "1h 30min");
  EXPECT_EQ(to_text(Span(0)), "0s");
  EXPECT_EQ(to_text(250ms), "250ms");
  EXPECT_EQ(to_text(24h), "1d");
  EXPECT_EQ(to_text(504h), "21d");
  EXPECT_EQ(to_text(25h + 61s + 1ms), "1d 1h 1min 1s 1ms");
  EXPECT_EQ(to_text(-90s), "-1min 30s");
  EXPECT_EQ(to_text(Span::min()), "-106751991167d 7h 12min 55s 808ms");
}

TEST(SpanText, ReadsBackAsItself) {
  std::mt19937_64 random(11);
  for (int bits = 0; bits < 45; ++bits)
    for (int i = 0; i < 200; ++i) {
      const Span span(static_cast<std::int64_t>(random() & ((std::uint64_t{1} << bits) - 1)));
      ASSERT_EQ(parse_span(to_text(span)), span) << to_text(span);
    }
}

}  // namespace
}  // namespace clutchward
