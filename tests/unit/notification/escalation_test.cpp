// Timelines: reminders, steps, answers, passing on, contacts that cannot be reached.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "house.h"

namespace clutchward {
namespace {

using namespace house;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

// "mara 3, jonas 5": contacts and minutes after 02:14 of what was sent.
std::string timeline(const std::vector<Notification>& notes) {
  std::string text;
  for (const Notification& note : notes) {
    const auto minutes = (note.made_at - at("2026-03-06T02:14:00Z")) / 1min;
    text += (text.empty() ? "" : ", ") + note.contact + " " + std::to_string(minutes);
  }
  return text;
}

Settings mara_alone() {
  Settings settings = saltmere();
  settings.escalation.resize(1);
  return settings;
}

TEST(Reminders, HighEveryThreeMinutesAndAfterTheTenthEveryTen) {
  House h(mara_alone());
  h.raise(h.high(), 39'800);
  EXPECT_EQ(timeline(h.pass(61min)),
            "mara 0, mara 3, mara 6, mara 9, mara 12, mara 15, mara 18, mara 21, mara 24, mara 27, "
            "mara 30, mara 40, mara 50, mara 60");
}

TEST(Reminders, SayWhichTheyAreAndCarryTheAlarmsEvent) {
  House h(mara_alone());
  h.raise(h.high(), 39'800);
  const auto notes = h.pass(6min);
  ASSERT_EQ(notes.size(), 3U);
  EXPECT_THAT(notes[2].message,
              HasSubstr("Reminder 2: nobody has answered yet (high, priority high).\n"));
  EXPECT_THAT(
      notes[2].message,
      HasSubstr("Told before:\n- Mara by webhook at 02:14, last at 02:17: taken at 02:17\n"));
  EXPECT_EQ(notes[2].events, notes[0].events);
}

TEST(Reminders, MediumHourlyLowNever) {
  House h(mara_alone());
  h.raise(h.warm(), 38'500);
  AlarmView& dry =
      h.alarm("setter-b", "dry", RuleKind::below, Priority::low, 45'000, Quantity::humidity);
  const auto notes = h.pass(121min);
  EXPECT_EQ(timeline(notes), "mara 0, mara 60, mara 120");
  h.raise(dry, 38'000);
  EXPECT_EQ(h.pass(50min).size(), 1U);
  h.acknowledge(h.alarms.views.begin()->second, "mara");
  EXPECT_THAT(h.pass(24h), IsEmpty());
}

TEST(Reminders, StopWhenAcknowledgedSnoozedOrReturned) {
  for (int deed = 0; deed < 3; ++deed) {
    House h;
    AlarmView& high = h.high();
    h.raise(high, 39'800);
    h.out();
    h.pass(1min);
    if (deed == 0) h.acknowledge(high, "mara");
    if (deed == 1) h.snooze(high, "mara", 2h);
    if (deed == 2) h.give_back(high, 39'000);
    const auto notes = h.pass(100min);
    EXPECT_EQ(notes.size(), deed == 2 ? 1U : 0U) << deed;
  }
}

TEST(Reminders, StopForAnAlarmThatIsGoneWithoutAWord) {
  House h;
  h.raise(h.high(), 39'800);
  h.out();
  h.alarms.views.clear();
  EXPECT_THAT(h.pass(1h), IsEmpty());
  EXPECT_EQ(h.store.count("announcements/setter-a"), 0U);
}

TEST(Reminders, OfOneCabinetGoTogether) {
  House h(mara_alone());
  h.raise(h.hot(), 39'000);
  h.pass(1min);
  h.raise(h.high(), 39'800);
  EXPECT_EQ(timeline(h.pass(9min)), "mara 1, mara 4, mara 7, mara 10");
}

TEST(Escalation, StepsCountFromTheAnnouncement) {
  House h;
  h.raise(h.warm(), 38'500);
  const auto notes = h.pass(20min);
  ASSERT_EQ(notes.size(), 3U);
  EXPECT_EQ(to_rfc3339(notes[0].made_at), "2026-03-06T02:14:10.000Z");
  EXPECT_EQ(to_rfc3339(notes[1].made_at), "2026-03-06T02:19:10.000Z");
  EXPECT_EQ(to_rfc3339(notes[2].made_at), "2026-03-06T02:29:10.000Z");
  EXPECT_EQ(timeline(notes), "mara 0, jonas 5, odile 15");
  EXPECT_THAT(notes[2].message, HasSubstr("Nobody has answered yet (warm, priority medium).\n"));
  EXPECT_THAT(notes[2].message,
              HasSubstr("Told before:\n- Mara by webhook at 02:14: taken at 02:14\n"
                        "- Jonas by webhook at 02:19: taken at 02:19\n"));
}

TEST(Escalation, PastTheLastStepEveryoneIsTold) {
  Settings settings = saltmere();
  settings.escalation.pop_back();  // odile is in no step
  settings.everyone_after = 10min;
  House h(settings);
  h.raise(h.low(), 34'000);
  EXPECT_EQ(timeline(h.pass(14min)), "mara 0, jonas 5");
  const auto notes = h.pass(2min);
  ASSERT_EQ(timeline(notes), "jonas 15, mara 15, odile 15");
  EXPECT_THAT(notes[2].message, HasSubstr("Nobody has answered yet"));
  EXPECT_THAT(h.pass(24h), IsEmpty());
}

TEST(Escalation, AnAnswerAfterTheLastStepSparesEveryone) {
  Settings settings = saltmere();
  settings.everyone_after = 10min;
  House h(settings);
  AlarmView& low = h.low();
  h.raise(low, 34'000);
  h.pass(20min);
  h.acknowledge(low, "jonas", /*holds=*/false);
  for (const Notification& note : h.pass(1h)) EXPECT_EQ(note.urgency, Urgency::quiet);
}

TEST(Escalation, RemindersGoToAllToldSoFar) {
  House h;
  h.raise(h.high(), 39'800);
  EXPECT_EQ(timeline(h.pass(9min)), "mara 0, mara 3, jonas 5, jonas 6, mara 6, jonas 9, mara 9");
}

TEST(Escalation, StopsWithAnAnswerAndStartsAgainFromStepOne) {
  House h;
  AlarmView& high = h.high();
  h.raise(high, 39'800);
  h.pass(6min);
  h.acknowledge(high, "mara");
  h.pass(24min);
  h.ring_again(high);
  EXPECT_EQ(timeline(h.pass(6min)), "mara 30, mara 33, jonas 35, jonas 36, mara 36");
  h.acknowledge(high, "mara");
  h.pass(1min);
  h.worsen(high, 41'000);
  const auto notes = h.out();
  ASSERT_EQ(notes.size(), 1U);
  EXPECT_THAT(notes[0].message, HasSubstr("Worse than before (high, priority high).\n"));
}

TEST(Escalation, AFirstStepWithADelayWaits) {
  Settings settings = saltmere();
  settings.escalation.erase(settings.escalation.begin());
  House h(settings);
  h.raise(h.high(), 39'800);
  const auto notes = h.pass(5min);
  EXPECT_EQ(timeline(notes), "jonas 5");
  EXPECT_THAT(notes[0].message, HasSubstr("New alarm (high, priority high).\n"));
}

TEST(Escalation, RungsOfOneLadderClimbTogether) {
  House h;
  h.raise(h.hot(), 39'000);
  h.pass(1min);
  h.raise(h.high(), 39'800);
  std::string jonas;
  for (const Notification& note : h.pass(5min))
    if (note.contact == "jonas") jonas += note.subject.alarm + " ";
  EXPECT_EQ(jonas, "high ");
}

TEST(Escalation, ANewConfigurationGoesOnWithItsSteps) {
  House h;
  h.raise(h.high(), 39'800);
  h.pass(1min);
  h.settings.escalation[1].after = 2min;
  h.announcer.configure(h.settings, utc());
  EXPECT_EQ(timeline(h.pass(1min)), "jonas 2");
  h.settings.escalation.resize(1);
  h.announcer.configure(h.settings, utc());
  EXPECT_EQ(timeline(h.pass(1min)), "jonas 3, mara 3");
}

TEST(PassOn, TellsTheNextStepNowAndSparesThePasser) {
  House h;
  AlarmView& high = h.high();
  h.raise(high, 39'800);
  h.pass(1min);
  h.happen(high, EventKind::passed_on, "mara");
  const auto now = h.out();
  ASSERT_EQ(timeline(now), "jonas 1");
  EXPECT_THAT(now[0].message, HasSubstr("Mara passes this on to you (high, priority high).\n"));
  EXPECT_EQ(timeline(h.pass(5min)), "jonas 3, jonas 6");
  h.happen(high, EventKind::passed_on, "jonas");
  const auto next = h.pass(10s);
  ASSERT_EQ(timeline(next), "odile 6, mara 6");
  EXPECT_EQ(next[1].first_line,
            "Jonas passed it on at 02:20, now told: Odile: TOO HOT Setter A 39.8 C (max 39.5)");
  EXPECT_EQ(next[1].urgency, Urgency::quiet);
  h.happen(high, EventKind::passed_on, "odile");
  EXPECT_EQ(h.pass(10s).at(0).message,
            "Odile passed it on at 02:20, nobody is left to tell: TOO HOT "
            "Setter A 39.8 C (max 39.5)\n");
}

TEST(PassOn, BeforeItWasAnnouncedReachesTheOnlyStepThereIs) {
  Settings settings = saltmere();
  settings.escalation = {{0s, {"mara", "jonas"}}};
  House h(settings);
  AlarmView& warm = h.warm();
  h.raise(warm, 38'400);
  h.happen(warm, EventKind::passed_on, "mara");  // from the page, while it is still gathered
  EXPECT_EQ(timeline(h.pass(1min)), "jonas 0");
}

TEST(PassOn, WhoLooksSeesWhoKnowsAndWhetherAnybodyIsLeft) {
  House h;
  AlarmView& high = h.high();
  EXPECT_FALSE(h.announcer.told(high, h.now));
  h.raise(high, 39'800);
  EXPECT_EQ(h.announcer.told(high, h.now), (WhoKnows{{}, {"mara"}, true}));
  h.out();
  EXPECT_EQ(h.announcer.told(high, h.now), (WhoKnows{{"mara"}, {}, true}));
  h.happen(high, EventKind::passed_on, "mara");
  h.out();
  h.happen(high, EventKind::passed_on, "jonas");
  h.out();
  EXPECT_EQ(h.announcer.told(high, h.now), (WhoKnows{{"mara", "jonas", "odile"}, {}, false}));
  h.acknowledge(high, "odile");
  EXPECT_FALSE(h.announcer.told(high, h.now));
}

TEST(PassOn, ThatNobodyIsLeftIsToldOnceAndAnsweredEachTime) {
  House h;
  AlarmView& high = h.high();
  h.raise(high, 39'800);
  EXPECT_EQ(h.announcer.end_of_steps(high, h.now), "") << "Jonas and Odile are left";
  h.happen(high, EventKind::passed_on, "root");
  h.happen(high, EventKind::passed_on, "root");
  EXPECT_EQ(h.announcer.end_of_steps(high, h.now),
            "nobody is left to pass it on to; told so far: Mara, Jonas, Odile");
  h.pass(11s);
  const auto told = [&] {
    int count = 0;
    for (const Notification& note : h.pass(11s))
      if (note.message.find("nobody is left") != std::string::npos) ++count;
    return count;
  };
  h.happen(high, EventKind::passed_on, "root");
  EXPECT_EQ(told(), 3);
  h.happen(high, EventKind::passed_on, "root");
  h.restart();
  h.happen(high, EventKind::passed_on, "mara");
  EXPECT_EQ(told(), 0);
  h.ring_again(high);  // the steps begin anew
  EXPECT_EQ(h.announcer.end_of_steps(high, h.now), "");
}

TEST(Unreachable, AFailingChannelSendsTheNextStepAtOnceAndOnlyOnce) {
  House h;
  h.raise(h.high(), 39'800);
  const auto first = h.out(false);
  h.announcer.report({first[0].id, Outcome::failed, "404 no such hook", {}}, h.alarms, h.now);
  const auto next = h.out();
  ASSERT_EQ(timeline(next), "jonas 0");
  EXPECT_THAT(next[0].message, HasSubstr("Mara could not be reached (high, priority high).\n"));
  EXPECT_THAT(next[0].message,
              HasSubstr("- Mara by webhook at 02:14: failed, the answer was: 404 no "
                        "such hook\n"));
  ASSERT_EQ(h.announcer.waiting().size(), 1U);
  EXPECT_EQ(h.announcer.waiting()[0].last_answer, "404 no such hook");

  h.now = {h.now.steady + 3min, h.now.wall + 3min, true};
  h.announcer.advance(h.alarms, h.now);
  for (const Notification& note : h.out(false))
    if (note.contact == "mara")
      h.announcer.report({note.id, Outcome::failed, "404", {}}, h.alarms, h.now);
  EXPECT_THAT(h.out(), IsEmpty());
}

TEST(Unreachable, AServiceMessageGoesToTheNextStep) {
  House h;
  h.announcer.tell_service("DISK FULL", "Free some.", Urgency::high, h.now);
  for (const char* contact : {"mara", "jonas", "odile"}) {
    const auto notes = h.out(false);
    ASSERT_EQ(notes.size(), 1U);
    EXPECT_EQ(notes[0].contact, contact);
    h.announcer.report({notes[0].id, Outcome::failed, "404", {}}, h.alarms, h.now);
  }
  EXPECT_THAT(h.out(), IsEmpty());
  EXPECT_EQ(h.announcer.waiting().size(), 3U);
}

}  // namespace
}  // namespace clutchward
