// One cause over several cabinets is one message: all silent together.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "house.h"

namespace clutchward {
namespace {

using namespace house;
using testing::HasSubstr;
using testing::IsEmpty;

Settings mara_alone() {
  Settings settings = saltmere();
  settings.escalation.resize(1);
  return settings;
}

struct Farm : House {
  explicit Farm(Priority of_cause = Priority::high) : House(mara_alone()) {
    cause = &alarm("", "together", RuleKind::all_silent, of_cause, {}, Quantity::temperature, "");
    cause->says = "20 cabinets, none of them heard";
    for (int i = 0; i < 20; ++i) {
      const std::string name = "setter-" + std::to_string(i);
      silents.push_back(&alarm(name, "silent", RuleKind::silent, Priority::medium, {},
                               Quantity::temperature, ""));
    }
  }
  void all_fall_silent() {
    together = true;
    for (AlarmView* silent : silents) {
      silent->part_of = "all_silent";
      raise(*silent);
    }
    raise(*cause);
    tell();
  }
  AlarmView* cause;
  std::vector<AlarmView*> silents;
};

TEST(Fold, TwentySilencesAreToldAsTheirCauseOnce) {
  Farm farm;
  farm.all_fall_silent();
  const auto notes = farm.pass(2min);
  ASSERT_EQ(notes.size(), 1u);
  EXPECT_THAT(notes[0].first_line, HasSubstr("ALL SILENT"));
  EXPECT_THAT(notes[0].message, HasSubstr("20 cabinets, none of them heard"));
  EXPECT_EQ(notes[0].events.size(), 1u);
  // Reminders are the cause's alone.
  for (const Notification& note : farm.pass(2h)) {
    EXPECT_EQ(note.subject.alarm, "together");
    EXPECT_EQ(note.events.size(), 1u);
  }
}

Settings with_rule() {
  Settings settings = mara_alone();
  settings.rules["together"].kind = RuleKind::all_silent;
  return settings;
}

TEST(Fold, WhereTheCauseIsAskedForALoneSilenceWaitsAMinuteForTheRest) {
  House h(with_rule());
  AlarmView& silent = h.alarm("setter-a", "silent", RuleKind::silent, Priority::medium, {},
                              Quantity::temperature, "");
  h.raise(silent);
  EXPECT_THAT(h.pass(59s), IsEmpty());
  h.restart();
  const auto notes = h.pass(20s);
  ASSERT_EQ(notes.size(), 1u);
  EXPECT_EQ(notes[0].subject.alarm, "silent");
}

TEST(Fold, SilencesOneByOneWithinAMinuteAreOneMessage) {
  House h(with_rule());
  std::vector<AlarmView*> silents;
  for (int i = 0; i < 20; ++i) {
    silents.push_back(&h.alarm("setter-" + std::to_string(i), "silent", RuleKind::silent,
                               Priority::medium, {}, Quantity::temperature, ""));
    h.raise(*silents.back());
    EXPECT_THAT(h.pass(2s), IsEmpty());
  }
  for (AlarmView* silent : silents) silent->part_of = "all_silent";
  h.raise(h.alarm("", "together", RuleKind::all_silent, Priority::medium, {}, Quantity::temperature,
                  ""));
  const auto notes = h.pass(30min);
  ASSERT_EQ(notes.size(), 1u);
  EXPECT_EQ(notes[0].subject.alarm, "together");
}

TEST(Fold, SilencesToldBeforeTheirCauseRingNoMoreBesideIt) {
  Farm farm;
  farm.raise(*farm.silents[0]);
  EXPECT_EQ(farm.pass(1min).size(), 1u);
  farm.all_fall_silent();
  for (const Notification& note : farm.pass(2h)) EXPECT_EQ(note.subject.alarm, "together");
}

TEST(Fold, WhenTheCauseIsOverWhatIsStillSilentIsTold) {
  Farm farm;
  farm.all_fall_silent();
  farm.pass(1min);
  farm.restart();
  farm.together = true;
  for (AlarmView* silent : farm.silents) silent->part_of.clear();
  farm.give_back(*farm.cause, 0);
  for (int i = 3; i < 20; ++i) farm.give_back(*farm.silents[i], 0);
  farm.tell();
  const auto notes = farm.pass(1min);
  std::set<std::string> told;
  for (const Notification& note : notes)
    for (const AlarmEvent& event : note.events)
      if (event.kind == EventKind::raised) told.insert(event.key.cabinet);
  EXPECT_EQ(told, (std::set<std::string>{"setter-0", "setter-1", "setter-2"}));
}

TEST(Fold, NothingRingsOnceSomebodyHasTheCause) {
  Farm farm;
  farm.all_fall_silent();
  farm.pass(1min);
  farm.together = false;
  farm.acknowledge(*farm.cause, "mara");
  EXPECT_THAT(farm.pass(3h), IsEmpty());
}

TEST(Fold, ACauseThatGoesWithItsRuleLeavesNobodyUntold) {
  Farm farm;
  farm.all_fall_silent();
  farm.pass(1min);
  farm.alarms.views.erase(farm.cause->key);
  const auto notes = farm.pass(5min);
  ASSERT_FALSE(notes.empty());
  EXPECT_EQ(notes[0].events.size(), 20u);
}

TEST(Fold, ACauseLessUrgentThanItsConsequencesFoldsNothing) {
  Farm farm(Priority::low);
  farm.all_fall_silent();
  const auto notes = farm.pass(1min);
  ASSERT_EQ(notes.size(), 1u);
  EXPECT_EQ(notes[0].events.size(), 21u);
}

}  // namespace
}  // namespace clutchward
