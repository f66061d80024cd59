// Hours, quiet hours, absences and rotas at one instant, over the changes of the clocks. Dublin's
// clocks in 2026 go forward on 29 March at 01:00 UTC and back on 25 October at 01:00 UTC (the
// European Union's rule, last Sundays of March and October; from memory, as the zone below states
// it by hand).
#include "notification/duty.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "house.h"

namespace clutchward {
namespace {

using namespace house;
using std::chrono::local_days;
using testing::ElementsAre;
using testing::IsEmpty;

Zone dublin() {
  return Zone("Europe/Dublin", {{at("2025-10-26T01:00:00Z"), 0s, "GMT"},
                                {at("2026-03-29T01:00:00Z"), 3600s, "IST"},
                                {at("2026-10-25T01:00:00Z"), 0s, "GMT"}});
}

constexpr std::uint8_t kWeekdays = 0x1f;
constexpr std::uint8_t kEveryDay = 0x7f;

local_days day(int year, unsigned month, unsigned of_month) {
  return local_days{std::chrono::year{year} / std::chrono::month{month} /
                    std::chrono::day{of_month}};
}

struct At {
  explicit At(const char* time, bool trusted = true)
      : duty(settings, zone, {Steady(1h), at(time), trusted}) {}
  static inline Settings settings;
  static inline Zone zone = dublin();
  Duty duty;
};

class DutyTest : public testing::Test {
 protected:
  void SetUp() override { At::settings = saltmere(); }
  ContactTimes& times(const char* contact) { return At::settings.contact_times[contact]; }
};

std::string ends(const Whereabouts& standing) {
  return standing.until ? to_rfc3339(*standing.until) : "never";
}

TEST_F(DutyTest, WhoHasNoTimesIsAlwaysThere) {
  EXPECT_EQ(At("2026-03-06T02:14:00Z").duty.standing("mara"), Whereabouts{});
  EXPECT_TRUE(At("2026-03-06T02:14:00Z").duty.can_be_told("mara", Priority::low));
}

TEST_F(DutyTest, QuietHoursOverMidnightEndInTheMorningAndHighBreaksThem) {
  times("mara").quiet = {{kEveryDay, 22h, 6h + 30min}};
  const At night("2026-03-06T02:14:00Z");
  EXPECT_EQ(night.duty.standing("mara").presence, Presence::quiet);
  EXPECT_EQ(ends(night.duty.standing("mara")), "2026-03-06T06:30:00.000Z");
  EXPECT_TRUE(night.duty.can_be_told("mara", Priority::high));
  EXPECT_FALSE(night.duty.can_be_told("mara", Priority::medium));
  EXPECT_EQ(At("2026-03-06T06:29:59Z").duty.standing("mara").presence, Presence::quiet);
  EXPECT_EQ(At("2026-03-06T06:30:00Z").duty.standing("mara").presence, Presence::there);
  EXPECT_EQ(At("2026-03-06T22:00:00Z").duty.standing("mara").presence, Presence::quiet);
}

TEST_F(DutyTest, QuietHoursFollowTheClocksInSpringAndAutumn) {
  times("mara").quiet = {{kEveryDay, 22h, 6h + 30min}};
  // 22:00 GMT to 06:30 summer time: an hour shorter.
  EXPECT_EQ(ends(At("2026-03-28T22:00:00Z").duty.standing("mara")), "2026-03-29T05:30:00.000Z");
  EXPECT_EQ(At("2026-03-29T05:30:00Z").duty.standing("mara").presence, Presence::there);
  // 22:00 summer time to 06:30 GMT: an hour longer.
  EXPECT_EQ(At("2026-10-24T20:59:00Z").duty.standing("mara").presence, Presence::there);
  EXPECT_EQ(ends(At("2026-10-24T21:00:00Z").duty.standing("mara")), "2026-10-25T06:30:00.000Z");
}

TEST_F(DutyTest, AnHourThatStandsTwiceEndsQuietOnce) {
  times("mara").quiet = {{kEveryDay, 0h, 1h + 30min}};
  // 01:30 comes at 00:30 UTC (summer time) and once more at 01:30 UTC: the first one ends it.
  EXPECT_EQ(ends(At("2026-10-24T23:30:00Z").duty.standing("mara")), "2026-10-25T00:30:00.000Z");
  EXPECT_EQ(At("2026-10-25T01:10:00Z").duty.standing("mara").presence, Presence::there);
}

TEST_F(DutyTest, AnHourThatIsNotThereBeginsWithTheChange) {
  times("mara").hours = {{kEveryDay, 1h + 30min, 9h}};
  const At before("2026-03-29T00:59:00Z");
  EXPECT_EQ(before.duty.standing("mara").presence, Presence::off);
  EXPECT_EQ(ends(before.duty.standing("mara")), "2026-03-29T01:00:00.000Z");
  EXPECT_EQ(At("2026-03-29T01:00:00Z").duty.standing("mara").presence, Presence::there);
}

TEST_F(DutyTest, OutsideTheHoursEvenHighWaitsForTheirBeginning) {
  times("mara").hours = {{kWeekdays, 8h, 18h}};
  const At friday("2026-03-06T18:00:00Z");
  EXPECT_EQ(friday.duty.standing("mara").presence, Presence::off);
  EXPECT_EQ(ends(friday.duty.standing("mara")), "2026-03-09T08:00:00.000Z");  // Monday
  EXPECT_FALSE(friday.duty.can_be_told("mara", Priority::high));
  EXPECT_TRUE(At("2026-03-09T08:00:00Z").duty.can_be_told("mara", Priority::low));
}

TEST_F(DutyTest, StretchesThatFollowEachOtherAreOne) {
  times("mara").quiet = {{kEveryDay, 20h, 24h}, {kEveryDay, 0h, 7h}};
  EXPECT_EQ(ends(At("2026-03-06T21:00:00Z").duty.standing("mara")), "2026-03-07T07:00:00.000Z");
}

TEST_F(DutyTest, WhoIsAwayIsStoodInForThroughTheLastDay) {
  times("mara").away = {{day(2026, 7, 12), day(2026, 7, 18), "jonas"}};
  times("jonas").away = {{day(2026, 7, 18), day(2026, 7, 18), "odile"}};
  EXPECT_THAT(At("2026-07-11T22:59:59Z").duty.people({"mara"}), ElementsAre("mara"));
  EXPECT_THAT(At("2026-07-11T23:00:00Z").duty.people({"mara", "jonas"}), ElementsAre("jonas"));
  EXPECT_EQ(ends(At("2026-07-12T10:00:00Z").duty.standing("mara")), "2026-07-18T23:00:00.000Z");
  EXPECT_THAT(At("2026-07-18T12:00:00Z").duty.people({"mara"}), ElementsAre("odile"));
  EXPECT_THAT(At("2026-07-18T23:00:00Z").duty.people({"mara"}), ElementsAre("mara"));
  const auto instead = At("2026-07-12T10:00:00Z").duty.stands_in_for("jonas");
  ASSERT_EQ(instead.size(), 1u);
  EXPECT_EQ(instead[0].contact, "mara");
  EXPECT_EQ(instead[0].until, day(2026, 7, 18));
}

TEST_F(DutyTest, StandInsInARingAreNobody) {
  times("mara").away = {{day(2026, 7, 12), day(2026, 7, 18), "jonas"}};
  times("jonas").away = {{day(2026, 7, 12), day(2026, 7, 18), "mara"}};
  EXPECT_THAT(At("2026-07-12T10:00:00Z").duty.people({"mara", "jonas"}), IsEmpty());
  EXPECT_THAT(At("2026-07-12T10:00:00Z").duty.everybody(), ElementsAre("odile"));
}

TEST_F(DutyTest, ARotaIsWhoIsOnDutyAndItsDayBeginsAtItsHour) {
  RotaSettings& rota = At::settings.rotas["duty"];
  rota.begins = 8h;
  rota.days[4] = {"mara"};  // Friday
  rota.days[5] = {"jonas", "odile"};
  EXPECT_THAT(At("2026-03-06T08:00:00Z").duty.people({"duty"}), ElementsAre("mara"));
  EXPECT_THAT(At("2026-03-07T07:59:00Z").duty.people({"duty"}), ElementsAre("mara"));
  EXPECT_THAT(At("2026-03-07T08:00:00Z").duty.people({"duty"}), ElementsAre("jonas", "odile"));
  EXPECT_THAT(At("2026-03-08T08:00:00Z").duty.people({"duty"}), IsEmpty());
}

TEST_F(DutyTest, LeastIsOfTheContactAndOfEachChannel) {
  times("mara").least = Priority::medium;
  At::settings.contacts["jonas"][0].least = Priority::high;
  const At now("2026-03-06T12:00:00Z");
  EXPECT_FALSE(now.duty.hears("mara", Priority::low));
  EXPECT_TRUE(now.duty.hears("mara", Priority::medium));
  EXPECT_FALSE(now.duty.hears("jonas", Priority::medium));
  EXPECT_TRUE(now.duty.hears("jonas", Priority::high));
}

TEST_F(DutyTest, AClockThatNobodyVouchesForKeepsNobodyAway) {
  times("mara").hours = {{kWeekdays, 8h, 18h}};
  times("jonas").away = {{day(2026, 3, 1), day(2026, 3, 31), ""}};
  At::settings.rotas["duty"].days[0] = {"mara"};
  At::settings.rotas["duty"].days[3] = {"odile"};
  const At boot("2026-03-06T02:14:00Z", false);
  EXPECT_TRUE(boot.duty.can_be_told("mara", Priority::low));
  EXPECT_THAT(boot.duty.people({"jonas", "duty"}), ElementsAre("jonas", "mara", "odile"));
}

}  // namespace
}  // namespace clutchward
