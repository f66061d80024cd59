// Who comes first, and the sentence over all.
#include "web/standing.h"

#include <gmock/gmock.h>

#include <initializer_list>
#include <random>

#include "fake_site.h"

namespace clutchward {
namespace {

using testing::ElementsAre;

std::vector<std::string> order(const std::vector<CabinetView>& cabinets) {
  std::vector<std::string> ids;
  for (const CabinetView* each : worst_first(cabinets)) ids.push_back(each->id);
  return ids;
}

TEST(Standing, WorstFirst) {
  EXPECT_THAT(order(test::saltmere()),
              ElementsAre("setter-a", "hatcher-1", "setter-c", "setter-b", "setter-d"));
}

TEST(Standing, EqualOnesByPriorityThenAgeThenName) {
  auto make = [](const char* id, Priority priority, const char* raised) {
    CabinetView view = test::cabinet(id, id, 39'800);
    view.alarms = {test::alarm(id, "", "high", AlarmState::unacknowledged, priority)};
    view.alarms[0].raised_at = test::at(raised);
    return view;
  };
  EXPECT_THAT(order({make("d", Priority::medium, "2026-03-13T08:00:00Z"),
                     make("c", Priority::high, "2026-03-13T09:00:00Z"),
                     make("b", Priority::high, "2026-03-13T08:30:00Z"),
                     make("a", Priority::high, "2026-03-13T09:00:00Z")}),
              ElementsAre("b", "a", "c", "d"));
}

// Whatever places are asked for, and in whatever order, they are those of the whole order.
TEST(Standing, PlacesOfARollAreThoseOfTheWholeOrder) {
  std::mt19937 chance(20260313);
  const auto below = [&](unsigned end) { return chance() % end; };
  std::vector<CabinetView> cabinets;
  for (int i = 0; i < 300; ++i) {
    const std::string id = "c" + std::to_string(i);
    cabinets.push_back(test::cabinet(id, "", 37'500));
    cabinets.back().no_data = below(9) == 0;
    if (below(3) != 0) continue;
    const auto state = static_cast<AlarmState>(below(8));
    cabinets.back().alarms = {test::alarm(id, "", "high", state, static_cast<Priority>(below(3)))};
    cabinets.back().alarms[0].raised_at =
        test::at("2026-03-13T08:00:00Z") + std::chrono::minutes(below(20));
  }
  const auto all = order(cabinets);
  Roll roll;
  for (const CabinetView& each : cabinets) roll.add(brief_of(each));
  EXPECT_EQ(roll.size(), 300U);
  EXPECT_EQ(roll.worst(), standing_of(*worst_first(cabinets).front()));
  EXPECT_EQ(roll.headline({}), headline(cabinets, {}));
  for (const auto& [from, most] :
       std::initializer_list<std::pair<std::size_t, std::size_t>>{{250, 50},
                                                                  {0, 50},
                                                                  {100, 50},
                                                                  {290, 50},
                                                                  {300, 50},
                                                                  {299, 1},
                                                                  {0, 300},
                                                                  {7, 0},
                                                                  {999, 9}}) {
    const auto first = all.begin() + static_cast<std::ptrdiff_t>(std::min(from, all.size()));
    const auto last = all.begin() + static_cast<std::ptrdiff_t>(std::min(from + most, all.size()));
    EXPECT_EQ(roll.places(from, most), std::vector<std::string>(first, last)) << from;
  }
  EXPECT_TRUE(Roll().places(0, 50).empty());
  EXPECT_EQ(Roll().worst(), Standing::unwatched);
}

TEST(Standing, EveryStateHasItsPlace) {
  const auto standing = [](AlarmState state) {
    return standing_of(test::alarm("a", "", "high", state));
  };
  EXPECT_EQ(standing(AlarmState::unacknowledged), Standing::needs_you);
  EXPECT_EQ(standing(AlarmState::acknowledged), Standing::in_hand);
  EXPECT_EQ(standing(AlarmState::latched), Standing::look);
  EXPECT_EQ(standing(AlarmState::returned), Standing::look);
  EXPECT_EQ(standing(AlarmState::pending), Standing::pending);
  EXPECT_EQ(standing(AlarmState::suppressed), Standing::unwatched);
  EXPECT_EQ(standing(AlarmState::out_of_service), Standing::unwatched);
  EXPECT_EQ(standing(AlarmState::normal), Standing::fine);
  AlarmView snoozed = test::alarm("a", "", "high", AlarmState::unacknowledged);
  snoozed.snoozed_until = test::at("2026-03-13T10:00:00Z");
  EXPECT_EQ(standing_of(snoozed), Standing::in_hand);
}

TEST(Standing, NothingUnknownCountsAsFine) {
  CabinetView view = test::cabinet("a", "A", 37'500);
  EXPECT_EQ(standing_of(view), Standing::fine);
  view.no_data = true;
  EXPECT_EQ(standing_of(view), Standing::no_data);
  view.no_data = false;
  view.batches[0].set = false;
  EXPECT_EQ(standing_of(view), Standing::empty);
  view.no_data = true;
  EXPECT_EQ(standing_of(view), Standing::no_data);
  view.no_data = false;
  view.batches[0].set = true;
  view.attending_until = test::at("2026-03-13T10:00:00Z");
  EXPECT_EQ(standing_of(view), Standing::unwatched);
}

// After a start or a reconnect, as long as readings come.
TEST(Standing, WaitingForNewsIsNothingAmissWhileReadingsCome) {
  CabinetView view = test::cabinet("a", "A", 37'500);
  view.alarms = {test::alarm("a", "", "silent", AlarmState::suppressed)};
  view.alarms[0].suppressed_for = {"broker_lost"};
  EXPECT_EQ(standing_of(view), Standing::fine);
  EXPECT_EQ(standing_of(view, /*linked=*/false), Standing::unwatched);
  view.alarms[0].suppressed_for = {"broker_lost", "attending"};
  EXPECT_EQ(standing_of(view), Standing::unwatched);
  view.alarms[0].suppressed_for = {"warming_up"};
  EXPECT_EQ(standing_of(view), Standing::unwatched);
  view.alarms[0].suppressed_for = {"broker_lost"};
  view.no_data = true;
  EXPECT_EQ(standing_of(view), Standing::no_data);
}

TEST(Standing, Headlines) {
  auto site = test::saltmere();
  EXPECT_EQ(headline(site, {}), "1 of 5 cabinets needs you");
  site.pop_back();
  EXPECT_EQ(headline(site, {}), "1 of 4 cabinets is out of range, in hand");
  EXPECT_EQ(headline(site, {test::alarm("", "", "broker", AlarmState::unacknowledged)}),
            "The watch itself needs you");
  site.pop_back();
  EXPECT_EQ(headline(site, {}), "1 of 3 cabinets gives no readings");
  site.pop_back();
  EXPECT_EQ(headline(site, {}), "The cabinet with eggs is in range");
  EXPECT_EQ(headline({site[0], site[0], site[1]}, {}), "All 2 cabinets with eggs in range");
  EXPECT_EQ(headline({site[1]}, {}), "No eggs are set");
  EXPECT_EQ(headline({site[1], site[1]}, {}), "No eggs are set in any cabinet");
  site[1].attending_until = test::at("2026-03-13T10:00:00Z");
  EXPECT_EQ(headline(site, {}), "1 of 2 cabinets is not watched in full");
  site.pop_back();
  EXPECT_EQ(headline(site, {}), "The cabinet is in range");
  EXPECT_EQ(headline(std::vector<CabinetView>{}, {}), "No cabinet is known yet");
  EXPECT_EQ(headline({site[0], site[0]}, {}), "All 2 cabinets in range");
}

TEST(Standing, Spans) {
  using namespace std::chrono_literals;
  EXPECT_EQ(about(-5s), "0 s");
  EXPECT_EQ(about(119s), "119 s");
  EXPECT_EQ(about(120s), "2 min");
  EXPECT_EQ(about(2h), "2 h");
  EXPECT_EQ(about(3h + 20min), "3 h 20 min");
  EXPECT_EQ(about(26h), "26 h");
  EXPECT_EQ(about(49h), "2 days");
}

}  // namespace
}  // namespace clutchward
