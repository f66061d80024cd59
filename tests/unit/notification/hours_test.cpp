// Who is told when hours, quiet hours, absences and rotas say so: timelines through the announcer.
// The house stands at 02:14 on a Friday.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "house.h"

namespace clutchward {
namespace {

using namespace house;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;

constexpr std::uint8_t kEveryDay = 0x7f;
const DayHours kNight{kEveryDay, 22h, 6h + 30min};
const DayHours kShift{kEveryDay, 8h, 18h};

// "mara 02:14, jonas 06:30": contacts and the time at which each message was made.
std::string timeline(const std::vector<Notification>& notes) {
  std::string text;
  for (const Notification& note : notes)
    text +=
        (text.empty() ? "" : ", ") + note.contact + " " + to_rfc3339(note.made_at).substr(11, 5);
  return text;
}

std::chrono::local_days day(unsigned month, unsigned of_month) {
  return std::chrono::local_days{std::chrono::year{2026} / std::chrono::month{month} /
                                 std::chrono::day{of_month}};
}

Settings mara_alone() {
  Settings settings = saltmere();
  settings.escalation.resize(1);
  return settings;
}

TEST(QuietHours, HoldMediumUntilTheirEndAndTellItIfItIsStillSo) {
  Settings settings = mara_alone();
  settings.contact_times["mara"].quiet = {kNight};
  House h(settings);
  h.raise(h.warm(), 38'500);
  const auto notes = h.pass(5h);
  EXPECT_EQ(timeline(notes), "mara 06:30");
  EXPECT_EQ(notes[0].urgency, Urgency::medium);
  EXPECT_EQ(notes[0].first_line,
            "TOO HOT Setter A 38.5 C rising (max 38.3) since 02:14. Open the door");
}

TEST(QuietHours, SayNothingOfWhatIsOverOrInSomebodysHandsByThen) {
  Settings settings = mara_alone();
  settings.contact_times["mara"].quiet = {kNight};
  House h(settings);
  AlarmView& warm = h.warm();
  h.raise(warm, 38'500);
  h.pass(1h);
  h.give_back(warm, 38'000);
  AlarmView& other = h.warm("setter-b");
  h.raise(other, 38'500);
  h.pass(1h);
  h.acknowledge(other, "jonas", false);
  EXPECT_THAT(h.pass(5h), IsEmpty());
  h.reset(warm, "mara");
  h.give_back(other, 38'000);
  h.pass(1min);
  EXPECT_EQ(h.store.count("announcements/setter-a"), 0u);
}

TEST(QuietHours, AreBrokenByHighAndByNewsOfIt) {
  Settings settings = mara_alone();
  settings.contact_times["mara"].quiet = {kNight};
  House h(settings);
  AlarmView& high = h.high();
  h.raise(high, 39'800);
  EXPECT_EQ(timeline(h.pass(4min)), "mara 02:14, mara 02:17");
  h.acknowledge(high, "jonas");
  EXPECT_EQ(timeline(h.pass(1min)), "mara 02:18");
}

TEST(QuietHours, HoldNewsAndRemindersOfMedium) {
  Settings settings = mara_alone();
  settings.contact_times["mara"].quiet = {{kEveryDay, 3h, 6h}};
  House h(settings);
  AlarmView& warm = h.warm();
  h.raise(warm, 38'500);
  EXPECT_EQ(timeline(h.pass(30min)), "mara 02:14");
  EXPECT_THAT(h.pass(45min), IsEmpty());  // the reminder of 03:14
  h.give_back(warm, 38'000);
  const auto notes = h.pass(3h);
  ASSERT_EQ(timeline(notes), "mara 06:00");
  EXPECT_EQ(notes[0].urgency, Urgency::quiet);
  EXPECT_THAT(notes[0].first_line, HasSubstr("BACK IN RANGE"));
}

TEST(QuietHours, OfOneContactCallTheNextStepAtOnceForMedium) {
  Settings settings = saltmere();
  settings.contact_times["mara"].quiet = {kNight};
  House h(settings);
  AlarmView& warm = h.warm();
  h.raise(warm, 38'500);
  EXPECT_EQ(timeline(h.pass(1min)), "jonas 02:14");
  // Odile's step counts from the announcement as ever; mara hears of it in the morning.
  EXPECT_EQ(timeline(h.pass(30min)), "odile 02:29");
  const auto morning = h.pass(4h);
  EXPECT_THAT(timeline(morning), HasSubstr("mara 06:30"));
}

TEST(QuietHours, OutliveARestart) {
  Settings settings = mara_alone();
  settings.contact_times["mara"].quiet = {kNight};
  House h(settings);
  h.raise(h.warm(), 38'500);
  h.pass(1h);
  h.restart();
  EXPECT_EQ(timeline(h.pass(4h)), "mara 06:30");
}

TEST(QuietHours, HoldNewsOverARestart) {
  Settings settings = mara_alone();
  settings.contact_times["mara"].quiet = {{kEveryDay, 3h, 6h}};
  House h(settings);
  AlarmView& warm = h.warm();
  h.raise(warm, 38'500);
  h.pass(1h);
  h.give_back(warm, 38'000);
  h.pass(1min);
  h.restart();
  EXPECT_EQ(timeline(h.pass(3h)), "mara 06:00");
}

TEST(QuietHours, TheWholeNightComesAsOneMessage) {
  Settings settings = mara_alone();
  settings.contact_times["mara"].quiet = {kNight};
  House h(settings);
  for (const char* cabinet : {"setter-a", "setter-b", "setter-c"}) {
    h.raise(h.warm(cabinet), 38'500);
    h.pass(20min);
  }
  const auto notes = h.pass(4h);
  ASSERT_EQ(timeline(notes), "mara 06:30");
  EXPECT_EQ(notes[0].events.size(), 3u);
}

TEST(QuietHours, HoldBackAFloodsListAndItsEnd) {
  Settings settings = mara_alone();
  settings.contact_times["mara"].quiet = {{kEveryDay, 2h + 20min, 6h}};
  House h(settings);
  h.together = true;
  std::vector<std::string> names;
  for (int i = 0; i < 30; ++i) names.push_back("setter-" + std::to_string(i));
  for (int i = 0; i < 15; ++i) h.raise(h.warm(names[i]), 38'500);
  h.tell();
  EXPECT_EQ(timeline(h.pass(1min)), "mara 02:14");  // the flood begins
  for (int i = 15; i < 30; ++i) h.raise(h.warm(names[i]), 38'500);
  h.tell();
  EXPECT_THAT(h.pass(3h), IsEmpty());
  const auto notes = h.pass(1h);
  ASSERT_FALSE(notes.empty());
  EXPECT_EQ(to_rfc3339(notes[0].made_at).substr(11, 5), "06:00");
  std::set<std::string> told;
  for (const AlarmEvent& event : notes[0].events) told.insert(event.key.cabinet);
  for (int i = 15; i < 30; ++i) EXPECT_EQ(told.count(names[i]), 1u) << names[i];
}

TEST(QuietHours, AreLookedAtAnewWithANewConfiguration) {
  Settings settings = mara_alone();
  settings.contact_times["mara"].quiet = {kNight};
  House h(settings);
  h.raise(h.warm(), 38'500);
  h.pass(1h);
  settings.contact_times.clear();
  h.announcer.configure(settings, utc());
  EXPECT_EQ(timeline(h.pass(1s)), "mara 03:14");
}

TEST(Hours, AStepWhoseContactsAreAllOffCallsTheNextAtOnce) {
  Settings settings = saltmere();
  settings.contact_times["mara"].hours = {kShift};
  House h(settings);
  h.raise(h.high(), 39'800);
  EXPECT_EQ(timeline(h.pass(2min)), "jonas 02:14");
  EXPECT_EQ(timeline(h.pass(2min)), "jonas 02:17");
}

TEST(Hours, AHighAlarmReachesSomebodyThoughAllAreOff) {
  Settings settings = saltmere();
  for (const char* contact : {"mara", "jonas", "odile"})
    settings.contact_times[contact].hours = {kShift};
  House h(settings);
  h.raise(h.high(), 39'800);
  EXPECT_EQ(timeline(h.pass(1min)), "jonas 02:14, mara 02:14, odile 02:14");
  // Reminders go on, although none of them is there.
  EXPECT_EQ(timeline(h.pass(3min)), "jonas 02:17, mara 02:17, odile 02:17");
}

TEST(Hours, MediumWaitsForTheFirstWhoseHoursBegin) {
  Settings settings = saltmere();
  for (const char* contact : {"mara", "jonas", "odile"})
    settings.contact_times[contact].hours = {kShift};
  settings.contact_times["jonas"].hours = {{kEveryDay, 5h, 12h}};
  House h(settings);
  AlarmView& warm = h.warm();
  h.raise(warm, 38'500);
  EXPECT_EQ(timeline(h.pass(3h)), "jonas 05:00");
  h.acknowledge(warm, "jonas", false);
  EXPECT_THAT(h.pass(4h), IsEmpty());
}

TEST(Hours, ThatEndUnansweredCallTheNextStepInsteadOfAReminder) {
  Settings settings = saltmere();
  settings.escalation[1].after = 1h;
  settings.contact_times["mara"].hours = {{kEveryDay, 0h, 2h + 16min}};
  House h(settings);
  h.raise(h.high(), 39'800);
  EXPECT_EQ(timeline(h.pass(1min)), "mara 02:14");
  const auto notes = h.pass(3min);
  ASSERT_EQ(timeline(notes), "jonas 02:17");
  EXPECT_THAT(notes[0].message, HasSubstr("Nobody has answered yet"));
}

TEST(Hours, PastTheLastStepEveryoneIsToldInAndOutOfThem) {
  Settings settings = saltmere();
  settings.everyone_after = 10min;
  settings.escalation = {{0s, {"mara"}}};
  settings.contact_times["odile"].hours = {kShift};
  House h(settings);
  h.raise(h.high(), 39'800);
  EXPECT_THAT(timeline(h.pass(9min)), Not(HasSubstr("odile")));
  EXPECT_THAT(timeline(h.pass(2min)), HasSubstr("jonas 02:24, mara 02:24, odile 02:24"));
}

TEST(Hours, FallingThroughToEveryoneTellsThoseWhoAreThereAndKeepsTheStep) {
  Settings settings = saltmere();
  settings.everyone_after = 10min;
  settings.escalation = {{0s, {"mara"}}};
  for (const char* contact : {"mara", "odile"}) settings.contact_times[contact].hours = {kShift};
  House h(settings);
  h.raise(h.high(), 39'800);
  EXPECT_EQ(timeline(h.pass(1min)), "jonas 02:14");
  EXPECT_THAT(timeline(h.pass(10min)), HasSubstr("jonas 02:24, mara 02:24, odile 02:24"));
}

TEST(Away, TheStandInIsToldWhereThingsAreAndWhatIsFirstAid) {
  Settings settings = mara_alone();
  settings.contact_times["mara"].away = {{day(3, 1), day(3, 7), "odile"}};
  settings.guides["setter-a"] = {"The keys hang behind the door.\nFuse box left of it.",
                                 "Open the door by a hand's breadth."};
  House h(settings);
  h.raise(h.high(), 39'800);
  const auto notes = h.pass(1min);
  ASSERT_EQ(timeline(notes), "odile 02:14");
  EXPECT_THAT(notes[0].message,
              HasSubstr("\nYou stand in for Mara until 7 Mar.\n"
                        "\nFirst aid (Setter A):\n- Open the door by a hand's breadth.\n"
                        "\nWhere things are (Setter A):\n- The keys hang behind the door.\n"
                        "- Fuse box left of it.\n"));
}

TEST(Away, NobodyElseIsTaughtHisOwnRoom) {
  Settings settings = mara_alone();
  settings.guides["setter-a"] = {"The keys hang behind the door.", "Open the door."};
  House h(settings);
  h.raise(h.high(), 39'800);
  const auto notes = h.pass(1min);
  ASSERT_EQ(notes.size(), 1u);
  EXPECT_THAT(notes[0].message, Not(HasSubstr("Where things are")));
}

TEST(Away, WhoIsLeftOnTheStepsButAwayIsNobodyToPassItOnTo) {
  Settings settings = saltmere();
  for (const char* contact : {"jonas", "odile"})
    settings.contact_times[contact].away = {{day(3, 6), day(3, 6), ""}};
  House h(settings);
  AlarmView& high = h.high();
  h.raise(high, 39'800);
  EXPECT_FALSE(h.announcer.told(high, h.now)->somebody_left);
  EXPECT_EQ(h.announcer.end_of_steps(high, h.now),
            "nobody is left to pass it on to; told so far: Mara");
}

TEST(Away, WithoutAStandInTheNextStepIsCalledAndTheAwayOneIsTheLastResort) {
  Settings settings = saltmere();
  settings.contact_times["mara"].away = {{day(3, 6), day(3, 6), ""}};
  {
    House h(settings);
    h.raise(h.high(), 39'800);
    EXPECT_EQ(timeline(h.pass(1min)), "jonas 02:14");
  }
  for (const char* contact : {"jonas", "odile"})
    settings.contact_times[contact].away = {{day(3, 6), day(3, 6), ""}};
  House h(settings);
  h.raise(h.high(), 39'800);
  EXPECT_EQ(timeline(h.pass(1min)), "jonas 02:14, mara 02:14, odile 02:14");
}

TEST(Rota, CallsWhoIsOnDuty) {
  Settings settings = saltmere();
  settings.rotas["duty"].begins = 8h;
  settings.rotas["duty"].days[3] = {"odile"};  // Thursday's duty lasts to Friday 08:00
  settings.rotas["duty"].days[4] = {"jonas"};
  settings.escalation = {{0s, {"duty"}}, {2h, {"mara"}}};
  House h(settings);
  h.raise(h.low(), 34'000);
  EXPECT_EQ(timeline(h.pass(1min)), "odile 02:14");
  h.acknowledge(h.alarms.views.begin()->second, "odile", false);
  h.pass(6h);
  h.raise(h.low("setter-b"), 34'000);
  EXPECT_EQ(timeline(h.pass(1min)), "jonas 08:15");
}

TEST(Rota, AWeekdayWithNobodyCallsTheNextStep) {
  Settings settings = saltmere();
  settings.rotas["duty"].days[0] = {"mara"};
  settings.escalation = {{0s, {"duty"}}, {2h, {"odile"}}};
  House h(settings);
  h.raise(h.low(), 34'000);
  EXPECT_EQ(timeline(h.pass(1min)), "odile 02:14");
}

TEST(Least, BelowItAContactHearsNothingAndTheNextIsCalled) {
  Settings settings = saltmere();
  settings.contact_times["mara"].least = Priority::medium;
  House h(settings);
  h.raise(h.low(), 34'000);
  EXPECT_EQ(timeline(h.pass(1min)), "jonas 02:14");
  h.raise(h.warm("setter-b"), 38'500);
  EXPECT_EQ(timeline(h.pass(1min)), "mara 02:15");
}

TEST(Least, OfAChannelChoosesTheWay) {
  Settings settings = mara_alone();
  settings.contacts["mara"].push_back(email());
  settings.contacts["mara"][0].least = Priority::high;
  House h(settings);
  h.raise(h.warm(), 38'500);
  const auto medium = h.pass(1min);
  ASSERT_EQ(medium.size(), 1u);
  EXPECT_EQ(medium[0].channel, 1);
  h.raise(h.high(), 39'800);
  EXPECT_EQ(h.pass(1min).size(), 2u);
}

TEST(PassOn, GoesToTheNextWhoIsThere) {
  Settings settings = saltmere();
  settings.contact_times["jonas"].hours = {kShift};
  House h(settings);
  AlarmView& high = h.high();
  h.raise(high, 39'800);
  h.out();
  h.happen(high, EventKind::passed_on, "mara");
  const auto notes = h.pass(1min);
  ASSERT_EQ(timeline(notes), "odile 02:14");
  EXPECT_THAT(notes[0].message, HasSubstr("Mara passes this on to you"));
}

TEST(Service, AFaultOfTheWatchWaitsForTheMorningUnlessItIsHigh) {
  Settings settings = mara_alone();
  settings.contact_times["mara"].quiet = {kNight};
  House h(settings);
  h.announcer.tell_service("A CHANNEL FAILS Saltmere", "Nothing gets through", Urgency::medium,
                           h.now);
  EXPECT_THAT(h.pass(4h), IsEmpty());
  h.restart();
  EXPECT_EQ(h.pass(1h).size(), 1u);
  EXPECT_EQ(to_rfc3339(h.now.wall).substr(11, 5), "07:14");
  h.now.wall -= 4h;
  h.announcer.tell_service("THE STATE CANNOT BE SAVED Saltmere", "x", Urgency::high, h.now);
  EXPECT_EQ(h.out().size(), 1u);
}

TEST(Daily, GoesAtItsHourWhateverIsQuietAndToTheStandIn) {
  Settings settings = saltmere();
  settings.contact_times["mara"].quiet = {kNight};
  settings.contact_times["jonas"].away = {{day(3, 6), day(3, 6), "odile"}};
  House h(settings);
  Notification note;
  note.first_line = "ALL IS WELL";
  note.message = "x\n";
  note.urgency = Urgency::quiet;
  h.announcer.tell_people({"mara", "jonas"}, note, h.now);
  EXPECT_EQ(timeline(h.out()), "mara 02:14, odile 02:14");
}

}  // namespace
}  // namespace clutchward
