// The daily line: well only where all is well.
#include "notification/daily.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "house.h"

namespace clutchward {
namespace {

using namespace house;
using testing::HasSubstr;

TEST(Daily, SaysThatAllIsWellWithOneLineACabinet) {
  const Settings settings = saltmere();
  const Zone zone = utc();
  const Manner manner{settings, zone, at("2026-03-06T08:00:00Z")};
  const Notification note =
      write_daily({{"Setter A", false, 37'500, 52'000, {"hens-12 day 4.8, setting"}, {}},
                   {"Hatcher", false, 36'900, {}, {}, {}}},
                  {}, manner);
  EXPECT_EQ(note.first_line, "ALL IS WELL at Saltmere: 2 cabinets watched");
  EXPECT_THAT(note.message, HasSubstr("Setter A: 37.5 °C, 52 %; hens-12 day 4.8, setting\n"));
  EXPECT_THAT(note.message, HasSubstr("Hatcher: 36.9 °C\n"));
  EXPECT_EQ(note.urgency, Urgency::low);
}

TEST(Daily, NamesLatchesSilenceAndFaultsOfTheWatch) {
  const Settings settings = saltmere();
  const Zone zone = utc();
  const Manner manner{settings, zone, at("2026-03-06T08:00:00Z")};
  House h;
  AlarmView latched = h.high();
  latched.latched = true;
  latched.returned_at = at("2026-03-06T03:10:00Z");
  const Notification note = write_daily(
      {{"Setter A", false, 37'500, {}, {}, {latched}}, {"Hatcher", true, {}, {}, {}, {}}},
      {"THE STATE CANNOT BE SAVED"}, manner);
  EXPECT_EQ(note.first_line,
            "TODAY at Saltmere: 1 without readings, 1 latched, 1 fault of the watch");
  EXPECT_THAT(note.message,
              HasSubstr("TOO HOT (high), latched, over since 03:10: look, then reset it\n"));
  EXPECT_THAT(note.message, HasSubstr("Hatcher: NO READINGS\n"));
  EXPECT_THAT(note.message, HasSubstr("The watch itself: THE STATE CANNOT BE SAVED\n"));
}

TEST(Status, IsTitledAsWhatWasAskedForAndIsNoSignOfLife) {
  const Settings settings = saltmere();
  const Zone zone = utc();
  const Manner manner{settings, zone, at("2026-03-06T10:50:00Z")};
  House h;
  AlarmView high = h.high();
  high.active = true;
  high.snoozed_until = at("2026-03-06T11:03:00Z");
  high.snoozed_by = "mara";
  const Notification note = write_status({{"Setter A", false, 39'900, {}, {}, {high}}}, manner);
  EXPECT_EQ(note.first_line, "STATUS of Saltmere: 1 alarm");
  EXPECT_THAT(note.message, HasSubstr("As it stands at 10:50"));
  EXPECT_THAT(note.message, HasSubstr("TOO HOT (high), snoozed by Mara until 11:03\n"));
  EXPECT_THAT(note.message, testing::Not(HasSubstr("fails to come")));
  EXPECT_EQ(write_status({{"Setter A", false, 37'500, {}, {}, {}}}, manner).first_line,
            "STATUS of Saltmere: no alarm, 1 cabinet watched");
}

}  // namespace
}  // namespace clutchward
