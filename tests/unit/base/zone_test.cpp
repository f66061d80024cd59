// Zones against localtime_r around every change of 2024 to 2030: the C library is the witness, our
// zone is built from what it says.
#include "base/zone.h"

#include <gtest/gtest.h>

#include <cstdlib>
#include <ctime>

namespace clutchward {
namespace {

using namespace std::chrono_literals;
using std::chrono::seconds;

using Local = std::chrono::local_time<Span>;

std::tm witness(std::int64_t second) {
  const std::time_t time = second;
  std::tm fields{};
  localtime_r(&time, &fields);
  return fields;
}

std::int64_t witness_local(std::int64_t second) { return second + witness(second).tm_gmtoff; }

std::int64_t second_of(const char* text) {
  return parse_rfc3339(text)->time_since_epoch().count() / 1000;
}
Wall wall(std::int64_t second) { return Wall(seconds(second)); }

// Sets the process's zone for one test and takes it back.
class ZoneOf : public ::testing::TestWithParam<const char*> {
 protected:
  void SetUp() override {
    setenv("TZ", GetParam(), 1);
    tzset();
    begin_ = second_of("2024-01-01T00:00:00Z");
    end_ = second_of("2031-01-01T00:00:00Z");
    std::vector<Zone::Change> changes = {change(begin_)};
    for (std::int64_t hour = begin_; hour < end_; hour += 3600) {
      if (same(hour, hour + 3600)) continue;
      std::int64_t low = hour;
      std::int64_t high = hour + 3600;
      while (high - low > 1) {
        const std::int64_t middle = (low + high) / 2;
        (same(hour, middle) ? low : high) = middle;
      }
      changes.push_back(change(high));
      moments_.push_back(high);
    }
    for (const Zone::Change& change : changes)
      largest_offset_ = std::max<std::int64_t>(largest_offset_, change.offset.count());
    zone_ = Zone(GetParam(), changes);
  }
  void TearDown() override {
    unsetenv("TZ");
    tzset();
  }

  static Zone::Change change(std::int64_t second) {
    const std::tm fields = witness(second);
    return {wall(second), seconds(fields.tm_gmtoff), fields.tm_zone};
  }
  static bool same(std::int64_t a, std::int64_t b) {
    const std::tm first = witness(a);
    const std::tm second = witness(b);
    return first.tm_gmtoff == second.tm_gmtoff && std::string_view(first.tm_zone) == second.tm_zone;
  }

  // The first minute at which the C library's clock has reached `local`: the earlier of two, the
  // change itself where a gap swallowed it. All changes of these zones fall on whole minutes.
  std::int64_t first_reaching(std::int64_t local) const {
    std::int64_t second = local - largest_offset_;
    while (witness_local(second) < local) second += 60;
    return second;
  }

  std::int64_t begin_ = 0;
  std::int64_t end_ = 0;
  std::int64_t largest_offset_ = -86'400;
  std::vector<std::int64_t> moments_;
  Zone zone_;
};

TEST_P(ZoneOf, ShowsWhatTheCLibraryShows) {
  const auto compare = [&](std::int64_t second) {
    const std::tm fields = witness(second);
    ASSERT_EQ(zone_.offset_at(wall(second)).count(), fields.tm_gmtoff) << second;
    ASSERT_EQ(zone_.abbreviation_at(wall(second)), fields.tm_zone) << second;
    ASSERT_EQ(zone_.to_local(wall(second)), Local(seconds(second + fields.tm_gmtoff))) << second;
  };
  for (std::int64_t second = begin_; second < end_; second += 7 * 3600 + 13) compare(second);
  for (const std::int64_t moment : moments_)
    for (std::int64_t near = -3; near <= 3; ++near) compare(moment + near);
}

TEST_P(ZoneOf, FindsTheInstantOfALocalTime) {
  for (const std::int64_t moment : moments_) {
    const std::int64_t local = witness_local(moment) / 900 * 900;
    for (std::int64_t near = local - 4 * 3600; near <= local + 4 * 3600; near += 300)
      ASSERT_EQ(zone_.to_wall(Local(seconds(near))), wall(first_reaching(near)))
          << to_rfc3339(wall(near));
  }
}

TEST_P(ZoneOf, FindsTheNextTimeOfDay) {
  for (const std::int64_t moment : moments_)
    for (std::int64_t after = moment - 26 * 3600; after <= moment + 26 * 3600; after += 1800)
      for (std::int64_t time_of_day = 0; time_of_day < 86'400; time_of_day += 1800) {
        const std::int64_t midnight = witness_local(after) / 86'400 * 86'400;
        std::int64_t expected = 0;
        for (int day = -1; expected <= after; ++day)
          expected = first_reaching(midnight + day * 86'400 + time_of_day);
        ASSERT_EQ(zone_.next_at(wall(after), seconds(time_of_day)), wall(expected))
            << to_rfc3339(wall(after)) << " at " << time_of_day;
      }
}

TEST_P(ZoneOf, ATimeOfDayComesOnceADay) {
  // Half past one is skipped or doubled in two of these zones, a quarter past two in the third.
  for (const Span time_of_day : {Span(90min), Span(105min), Span(135min), Span(0min)}) {
    int count = 0;
    for (Wall time = wall(begin_ + 86'400); time < wall(end_ - 86'400); ++count) {
      const Wall next = zone_.next_at(time, time_of_day);
      if (count > 0) {
        ASSERT_GE(next - time, 22h);
        ASSERT_LE(next - time, 26h);
      }
      time = next;
      // After less than a millisecond nothing has come yet.
      ASSERT_EQ(zone_.next_at(time - 1ms, time_of_day), time);
    }
    EXPECT_NEAR(count, 2557 - 2, 1);  // the days of seven years, two of them leap years
  }
}

INSTANTIATE_TEST_SUITE_P(Zones, ZoneOf,
                         ::testing::Values("Europe/Dublin", "America/New_York",
                                           "Australia/Lord_Howe", "Asia/Kathmandu"),
                         [](const auto& named) {
                           std::string name = named.param;
                           for (char& c : name)
                             if (c == '/') c = '_';
                           return name;
                         });

TEST(ZonesUsed, HaveTheChangesThatTheyAreHereFor) {
  setenv("TZ", "Australia/Lord_Howe", 1);
  tzset();
  // The well-known half hour.
  EXPECT_EQ(std::abs(witness(second_of("2026-01-15T00:00:00Z")).tm_gmtoff -
                     witness(second_of("2026-07-15T00:00:00Z")).tm_gmtoff),
            1800);
  unsetenv("TZ");
  tzset();
}

TEST(ZoneDublin2026, SkippedAndDoubledTimes) {
  const Zone zone("Europe/Dublin", {{wall(0), 0s, "GMT"},
                                    {*parse_rfc3339("2026-03-29T01:00:00Z"), 3600s, "IST"},
                                    {*parse_rfc3339("2026-10-25T01:00:00Z"), 0s, "GMT"}});
  const auto next = [&](const char* after, Span time_of_day) {
    return to_rfc3339(zone.next_at(*parse_rfc3339(after), time_of_day));
  };
  // 01:30 is skipped on 29 March: it happens at the change, and the next day at its own time.
  EXPECT_EQ(next("2026-03-28T12:00:00Z", 90min), "2026-03-29T01:00:00.000Z");
  EXPECT_EQ(next("2026-03-29T01:00:00Z", 90min), "2026-03-30T00:30:00.000Z");
  // 01:30 is doubled on 25 October: the earlier counts, the later does not.
  EXPECT_EQ(next("2026-10-24T12:00:00Z", 90min), "2026-10-25T00:30:00.000Z");
  EXPECT_EQ(next("2026-10-25T00:30:00Z", 90min), "2026-10-26T01:30:00.000Z");
  EXPECT_EQ(next("2026-10-25T01:00:00Z", 90min), "2026-10-26T01:30:00.000Z");
}

TEST(ZoneUtc, IsTheDefault) {
  const Zone zone;
  EXPECT_EQ(zone.name(), "UTC");
  EXPECT_EQ(zone.abbreviation_at(wall(0)), "UTC");
  EXPECT_EQ(zone.offset_at(wall(-5)), 0s);
  EXPECT_EQ(zone.to_wall(Local(5s)), wall(5));
  EXPECT_EQ(zone.next_at(wall(0), Span(0)), wall(86'400));
}

TEST(ZoneFirstChange, HoldsForAllTimeBefore) {
  const Zone zone("X", {{wall(1000), 3600s, "A"}, {wall(100'000), 0s, "B"}});
  EXPECT_EQ(zone.offset_at(wall(-1'000'000)), 3600s);
  EXPECT_EQ(zone.to_wall(Local(3600s - 1'000'000s)), wall(-1'000'000));
}

}  // namespace
}  // namespace clutchward
