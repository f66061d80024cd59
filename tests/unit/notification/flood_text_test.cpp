// In a flood nothing is left out of a message: what a person reads in the end names every alarm,
// those that came and went in between and those over a restart included.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <string>

#include "house.h"

namespace clutchward {
namespace {

using namespace house;
using testing::HasSubstr;

std::string name(int n) { return "Cabinet " + std::to_string(1000 + n); }

AlarmView& dry(House& h, int n, Priority priority) {
  AlarmView& view = h.alarm("c-" + std::to_string(1000 + n), "dry", RuleKind::below, priority,
                            45'000, Quantity::humidity);
  view.cabinet_name = name(n);
  return view;
}

std::string text_for(const std::vector<Notification>& notes, const std::string& contact) {
  std::string all;
  for (const Notification& note : notes)
    if (note.contact == contact) all += note.message + "\n";
  return all;
}

TEST(FloodText, NamesEveryAlarm) {
  Settings settings = saltmere();
  settings.escalation = {{0s, {"mara"}}};
  House h(settings);
  std::vector<Notification> all;
  const auto take = [&](std::vector<Notification> notes) {
    for (Notification& note : notes) all.push_back(std::move(note));
  };
  constexpr int kAlarms = 300;
  for (int n = 0; n < kAlarms; ++n) {
    AlarmView& view = dry(h, n, n % 10 == 0 ? Priority::high : Priority::medium);
    h.raise(view, 40'000);
    if (n % 7 == 0) h.give_back(view, 46'000);
    if (n % 11 == 0 && n % 7 != 0) h.acknowledge(view, "joss");
    if (n % 5 == 0) take(h.pass(1s));
    if (n == kAlarms / 2) {
      take(h.out());
      h.keep();
      h.restart();
    }
  }
  take(h.pass(25min));
  const std::string text = text_for(all, "mara");
  for (int n = 0; n < kAlarms; ++n) EXPECT_THAT(text, HasSubstr(name(n))) << n;
  EXPECT_LT(all.size(), kAlarms / 3U);
  for (const Notification& note : all) EXPECT_LE(note.first_line.size(), 80U);
}

TEST(FloodText, AStormInOneTurnNamesEveryAlarmInOneMessage) {
  House h;
  h.together = true;
  for (int n = 0; n < 400; ++n) h.raise(dry(h, n, Priority::high), 40'000);
  h.tell();
  const auto notes = h.out();
  ASSERT_EQ(notes.size(), 1U);
  for (int n = 0; n < 400; ++n) EXPECT_THAT(notes[0].message, HasSubstr(name(n))) << n;
}

// Of like alarms the one farthest beyond its limit is the worst, whatever order they came in and
// wherever their limits stand.
TEST(FloodText, TheWorstIsTheOneFarthestBeyondItsLimit) {
  House h;
  h.together = true;
  const auto hot = [&](int n, Milli limit, Milli value) {
    AlarmView& view =
        h.alarm("c-" + std::to_string(n), "high", RuleKind::above, Priority::high, limit);
    view.cabinet_name = "Setter " + std::to_string(n);
    h.raise(view, value);
  };
  for (int n = 10; n < 22; ++n) hot(n, 39'500, 39'700 + n);
  hot(30, 39'900, 39'950);
  hot(17, 39'500, 40'390);
  h.raise(dry(h, 1, Priority::high), 20'000);  // percent are not compared with degrees
  h.tell();
  const auto notes = h.out();
  ASSERT_EQ(notes.size(), 1U);
  EXPECT_THAT(notes[0].first_line, testing::EndsWith("Worst: TOO HOT Setter 17"));
  EXPECT_THAT(notes[0].message, HasSubstr("TOO HOT: Setter 17, 40.4"));
}

// The rungs of one cabinet stay together, the highest first, and count by the nearest limit.
TEST(FloodText, ACabinetWithAHigherRungIsNotLessHotForIt) {
  House h;
  h.together = true;
  AlarmView& high = h.high("setter-a");
  AlarmView& overheat = h.alarm("setter-a", "overheat", RuleKind::above, Priority::high, 41'000,
                                Quantity::temperature, "");
  AlarmView& other = h.high("setter-b");
  h.raise(high, 41'200);
  h.raise(overheat, 41'200);
  h.raise(other, 40'900);
  h.tell();
  const auto notes = h.out();
  ASSERT_EQ(notes.size(), 1U);
  EXPECT_THAT(notes[0].first_line, HasSubstr("TOO HOT Setter A 41.2 C rising (max 41.0)"));
}

}  // namespace
}  // namespace clutchward
