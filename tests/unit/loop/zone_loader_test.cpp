// The C library's rules as a Zone. The dates are those of the European Union's directive 2000/84/EC
// (last Sundays of March and October, 01:00 UTC) and of the United States (second Sunday of March,
// first of November, 02:00 local), from memory; the rest is compared with the library itself.
#include "loop/zone_loader.h"

#include <gtest/gtest.h>
#include <time.h>

namespace clutchward {
namespace {

Wall utc(const char* text) { return parse_rfc3339(text).value(); }

TEST(ZoneLoader, FindsTheChangesToTheSecond) {
  const Result<Zone> zone = load_zone("Europe/Dublin");
  ASSERT_TRUE(zone) << zone.why();
  EXPECT_EQ("Europe/Dublin", zone->name());
  EXPECT_EQ(std::chrono::seconds(0), zone->offset_at(utc("2026-03-29T00:59:59Z")));
  EXPECT_EQ(std::chrono::seconds(3600), zone->offset_at(utc("2026-03-29T01:00:00Z")));
  EXPECT_EQ("IST", zone->abbreviation_at(utc("2026-07-01T00:00:00Z")));
  EXPECT_EQ(std::chrono::seconds(3600), zone->offset_at(utc("2026-10-25T00:59:59Z")));
  EXPECT_EQ(std::chrono::seconds(0), zone->offset_at(utc("2026-10-25T01:00:00Z")));
}

TEST(ZoneLoader, KnowsSummerBehindTheStoredTransitions) {
  const Result<Zone> zone = load_zone("America/New_York");
  ASSERT_TRUE(zone) << zone.why();
  EXPECT_EQ(std::chrono::hours(-4), zone->offset_at(utc("2055-07-01T00:00:00Z")));
  EXPECT_EQ(std::chrono::hours(-5), zone->offset_at(utc("2055-01-15T00:00:00Z")));
}

TEST(ZoneLoader, AgreesWithTheLibraryEveryHourOfTwoYears) {
  for (const char* name : {"Africa/Casablanca", "Australia/Lord_Howe", "Asia/Kathmandu", "UTC",
                           "Etc/GMT+5", "America/Argentina/Buenos_Aires"}) {
    const Result<Zone> zone = load_zone(name);
    ASSERT_TRUE(zone) << zone.why();
    const Wall start = utc("2026-01-01T00:00:00Z");
    for (int hour = 0; hour < 2 * 365 * 24; ++hour) {
      const Wall time = start + std::chrono::hours(hour);
      const time_t seconds =
          std::chrono::duration_cast<std::chrono::seconds>(time.time_since_epoch()).count();
      tm fields{};
      ::localtime_r(&seconds, &fields);
      ASSERT_EQ(fields.tm_gmtoff, zone->offset_at(time).count()) << name << " " << seconds;
    }
  }
}

TEST(ZoneLoader, RefusesWhatIsNoZone) {
  for (const char* name :
       {"Europe/Atlantis", "", "/etc/passwd", "../zoneinfo/UTC", "Europe", "zone.tab", "tzdata.zi",
        "right/UTC", "EST5EDT4,M3", ":UTC", "Europe/", "posix/Europe/Dublin", "europe/dublin"})
    EXPECT_FALSE(load_zone(name)) << name;
  EXPECT_EQ(
      "timezone: no zone \"Europe/Atlantis\" in the system's tz database; expected a name such as "
      "Europe/Dublin",
      load_zone("Europe/Atlantis").why());
}

}  // namespace
}  // namespace clutchward
