// First lines of every kind, whole; units, dates, decimals, and names that do not fit.
#include <gtest/gtest.h>

#include "base/text.h"
#include "house.h"
#include "notification/advice.h"

namespace clutchward {
namespace {

using namespace house;

struct Lines : testing::Test {
  House house;
  Manner manner() { return {house.settings, zone, house.now.wall}; }
  std::string line(AlarmView view, std::optional<Milli> value, std::size_t more = 0) {
    view.value = value;
    view.active = true;
    if (!view.since) view.since = at("2026-03-06T02:14:00Z");
    AlarmEvent event;
    event.at = house.now.wall;
    event.key = view.key;
    return alarm_line(view, event, more, manner());
  }
  Zone zone = utc();
};

TEST_F(Lines, OfEveryKind) {
  auto& h = house;
  AlarmView high = h.high();
  high.trend = Trend::rising;
  EXPECT_EQ(line(high, 39'800),
            "TOO HOT Setter A 39.8 C rising (max 39.5) since 02:14. Open the door");
  AlarmView low = h.alarm("setter-a", "low", RuleKind::below, Priority::high, 34'500);
  low.trend = Trend::falling;
  EXPECT_EQ(line(low, 33'900),
            "TOO COLD Setter A 33.9 C falling (min 34.5) since 02:14. Check door and power");
  EXPECT_EQ(line(h.alarm("setter-a", "damp", RuleKind::above, Priority::medium, 65'000,
                         Quantity::humidity),
                 71'000),
            "TOO DAMP Setter A 71.0 % (max 65.0) since 02:14. Check vents and water");
  EXPECT_EQ(line(h.alarm("setter-a", "dry", RuleKind::below, Priority::medium, 45'000,
                         Quantity::humidity),
                 38'250),
            "TOO DRY Setter A 38.3 % (min 45.0) since 02:14. Top up the water");
  EXPECT_EQ(line(h.alarm("setter-a", "silent", RuleKind::silent, Priority::medium, {}), {}),
            "NO READINGS Setter A since 02:14. Go and look");
  EXPECT_EQ(line(h.alarm("setter-a", "turning", RuleKind::turning, Priority::medium, {}), {}),
            "NOT TURNING Setter A since 02:14. Check turner, turn by hand");
  EXPECT_EQ(line(h.alarm("setter-a", "still", RuleKind::still, Priority::medium, {}), {}),
            "TURNING NOT DUE Setter A since 02:14. Switch the turner off");
  EXPECT_EQ(line(h.alarm("setter-a", "spread", RuleKind::spread, Priority::medium, 1'500), 2'100),
            "PROBES DISAGREE Setter A 2.1 C apart (max 1.5) since 02:14. Check both probes");
  EXPECT_EQ(
      line(h.alarm("", "broker", RuleKind::broker, Priority::high, {}, Quantity::temperature, ""),
           {}),
      "NO BROKER Saltmere since 02:14. Check broker and network");
  EXPECT_EQ(
      line(h.alarm("setter-a", "power", RuleKind::power, Priority::medium, {}, Quantity::power), 0),
      "MAINS LOST Setter A since 02:14. Check the supply");
}

TEST_F(Lines, InFahrenheitDifferencesAreScaledOnly) {
  house.settings.show = Show::fahrenheit;
  AlarmView high = house.high();
  high.trend = Trend::steady;
  EXPECT_EQ(line(high, 39'800),
            "TOO HOT Setter A 103.6 F steady (max 103.1) since 02:14. Open the door");
  EXPECT_EQ(
      line(house.alarm("setter-a", "spread", RuleKind::spread, Priority::medium, 1'500), 2'100),
      "PROBES DISAGREE Setter A 3.8 F apart (max 2.7) since 02:14. Check both probes");
  EXPECT_EQ(line(house.alarm("setter-a", "dry", RuleKind::below, Priority::medium, 45'000,
                             Quantity::humidity),
                 38'000),
            "TOO DRY Setter A 38.0 % (min 45.0) since 02:14. Top up the water");
  EXPECT_EQ(value_text(-40'000, high, manner()), "-40.0 °F");
  EXPECT_EQ(value_text(-17'800, high, manner()), "0.0 °F");
  EXPECT_EQ(value_text(-20'050, high, manner()), "-4.1 °F");  // -4.09
  EXPECT_EQ(value_text(42'861, high, manner()), "109.1 °F");  // 109.1498, rounded once
}

TEST_F(Lines, AValueJustPastItsLimitIsToldFromIt) {
  EXPECT_EQ(line(house.high(), 39'520),
            "TOO HOT Setter A 39.52 C (max 39.50) since 02:14. Open the door");
  EXPECT_EQ(line(house.high(), 39'501),
            "TOO HOT Setter A 39.501 C (max 39.500) since 02:14. Open the door");
}

TEST_F(Lines, AnotherDayShowsItsDate) {
  AlarmView high = house.high();
  high.since = at("2026-02-28T23:50:00Z");
  EXPECT_EQ(line(high, 39'800),
            "TOO HOT Setter A 39.8 C (max 39.5) since 28 Feb 23:50. Open the door");
}

TEST_F(Lines, TheSitesClockCountsNotUtc) {
  zone = Zone("Europe/Dublin", {{Wall{}, 1h, "IST"}});
  EXPECT_EQ(line(house.high(), 39'800),
            "TOO HOT Setter A 39.8 C (max 39.5) since 03:14. Open the door");
  EXPECT_EQ(clock_text(at("2026-03-06T23:30:00Z"), manner(), true), "7 Mar 00:30 IST");
}

TEST_F(Lines, ALongNameLosesItsMiddleThenTheAdviceGoes) {
  AlarmView high = house.high();
  high.trend = Trend::falling;
  high.cabinet_name = "Großer Brüter in der alten Scheune Nummer 12";
  EXPECT_EQ(line(high, 39'800),
            "TOO HOT Grosser B..ummer 12 39.8 C falling (max 39.5) since 02:14. Open the door");
  high.kind = RuleKind::spread;
  high.since = at("2026-02-28T23:50:00Z");
  high.limit = 1'500;
  EXPECT_EQ(line(high, 1'501),
            "PROBES DISAGREE Gross..r 12 1.501 C apart falling (max 1.500) since 28 Feb 23:50");
}

TEST_F(Lines, MoreAlarmsAreCountedWhereThereIsRoom) {
  AlarmView high = house.high();
  EXPECT_EQ(line(high, 39'800, 2),
            "TOO HOT Setter A 39.8 C (max 39.5) since 02:14 +2 more. Open the door");
}

TEST_F(Lines, ControlCharactersAndOtherScriptsStayOut) {
  AlarmView high = house.high();
  high.cabinet_name = "A\n\x01 孵";
  EXPECT_EQ(line(high, 39'800), "TOO HOT A\\n\\x01 ? 39.8 C (max 39.5) since 02:14. Open the door");
}

TEST_F(Lines, NamesComeFromTheConfigurationWhereTheViewHasNone) {
  AlarmView high = house.high();
  high.cabinet_name.clear();
  EXPECT_EQ(place(high, manner()), "Setter A");
  high.key.cabinet = "hatcher";
  EXPECT_EQ(place(high, manner()), "hatcher");
}

TEST(AdviceTable, HasTwoToFourLinesForEveryKindOneOfThemWhatNotToDo) {
  for (int kind = 0; kind < 8; ++kind)
    for (const Quantity quantity : {Quantity::temperature, Quantity::humidity})
      for (const MachineType machine : {MachineType::forced, MachineType::still}) {
        AlarmView view;
        view.kind = static_cast<RuleKind>(kind);
        view.quantity = quantity;
        const Advice& advice = advice_for(view, machine);
        EXPECT_GE(advice.lines.size(), 2U) << kind;
        EXPECT_LE(advice.lines.size(), 4U) << kind;
        bool warns = false;
        for (const auto line : advice.lines)
          warns = warns || line.starts_with("Do not") || line.starts_with("Never");
        EXPECT_TRUE(warns) << kind;
        for (const auto first : advice.first) EXPECT_EQ(to_ascii(first), first);
        EXPECT_GE(advice.first[0].size(), advice.first[1].size());
      }
}

}  // namespace
}  // namespace clutchward
