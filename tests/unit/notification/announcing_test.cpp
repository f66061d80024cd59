// Who hears what and when: announcing, folding, gathering, quiet news, attending.
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

constexpr const char* kHigh =
    "TOO HOT Setter A 39.8 C rising (max 39.5) since 02:14. Open the door";

TEST(Announcing, AHighAlarmIsToldInTheSameCall) {
  House h;
  h.raise(h.high(), 39'800);
  const auto notes = h.out();
  ASSERT_EQ(lines(notes), std::vector<std::string>{std::string("mara: ") + kHigh});
  EXPECT_EQ(notes[0].urgency, Urgency::high);
  EXPECT_EQ(notes[0].id, "20260306T021400000Z-1-setter-a");
  EXPECT_EQ(notes[0].episode, "e1");
  EXPECT_EQ(notes[0].thread, "e1");
  EXPECT_EQ(notes[0].subject, (AlarmKey{"setter-a", "hens-12", "high"}));
  ASSERT_EQ(notes[0].events.size(), 1U);
  EXPECT_EQ(notes[0].events[0].kind, EventKind::raised);
}

TEST(Announcing, OneMessageAChannel) {
  Settings settings = saltmere();
  settings.contacts["mara"].push_back(email());
  House h(settings);
  h.raise(h.high(), 39'800);
  const auto notes = h.out();
  ASSERT_EQ(notes.size(), 2U);
  EXPECT_EQ(notes[0].channel, 0);
  EXPECT_EQ(notes[1].channel, 1);
  EXPECT_EQ(notes[0].message, notes[1].message);
  EXPECT_NE(notes[0].id, notes[1].id);
}

TEST(Announcing, OthersWaitAndGoTogetherOverCabinets) {
  House h;
  h.raise(h.warm(), 38'600);
  EXPECT_THAT(h.out(), IsEmpty());
  EXPECT_THAT(h.pass(4s), IsEmpty());
  h.raise(h.warm("setter-b"), 38'500);
  EXPECT_THAT(h.pass(5s), IsEmpty());
  const auto notes = h.pass(1s);
  ASSERT_THAT(lines(notes), ElementsAre("mara: TOO HOT Setter A 38.6 C rising (max 38.3) since "
                                        "02:14 +1 more. Open the door"));
  EXPECT_THAT(notes[0].message, HasSubstr("Elsewhere:\n- Setter B: TOO HOT (warm of hens-12): 38.5 "
                                          "°C and rising, at most 38.3 °C, since 02:14; nobody has "
                                          "it yet\n"));
  EXPECT_EQ(notes[0].events.size(), 2U);
  EXPECT_EQ(notes[0].urgency, Urgency::medium);
}

TEST(Announcing, AHighAlarmTakesItsCabinetsGatheredOnesAlong) {
  House h;
  h.raise(h.warm(), 38'500);
  h.raise(h.warm("setter-b"), 38'600);
  h.pass(3s);
  h.raise(h.high(), 39'800);
  const auto notes = h.out();
  ASSERT_THAT(lines(notes), ElementsAre("mara: TOO HOT Setter A 39.8 C rising (max 39.5) since "
                                        "02:14 +1 more. Open the door"));
  EXPECT_THAT(notes[0].message, HasSubstr("Also at Setter A:\n- TOO HOT (warm of hens-12): 38.5"));
  EXPECT_EQ(notes[0].events.size(), 2U);
  EXPECT_THAT(lines(h.pass(7s)), ElementsAre("mara: TOO HOT Setter B 38.6 C rising (max 38.3) "
                                             "since 02:14. Open the door"));
}

TEST(Announcing, TheWorstRungStandsFirstWhateverTheOrder) {
  House h;
  h.together = true;
  h.raise(h.hot(), 39'800);
  h.raise(h.high(), 39'800);
  h.raise(h.warm(), 39'800);
  h.tell();
  const auto notes = h.out();
  ASSERT_EQ(notes.size(), 1U);
  EXPECT_EQ(notes[0].first_line,
            "TOO HOT Setter A 39.8 C rising (max 39.5) since 02:14 +2 more. Open the door");
  EXPECT_EQ(notes[0].subject.alarm, "high");
  EXPECT_EQ(notes[0].events.size(), 3U);
}

TEST(Announcing, ALesserRungRaisedLaterIsToldInTheTextOfTheWorse) {
  House h;
  h.raise(h.high(), 39'800);
  h.out();
  h.pass(1min);
  h.raise(h.hot(), 39'700);
  const auto notes = h.out();
  ASSERT_EQ(notes.size(), 1U);
  EXPECT_EQ(notes[0].subject.alarm, "high");
  EXPECT_THAT(notes[0].message, HasSubstr("- TOO HOT (hot of hens-12): 39.7 °C"));
}

TEST(Announcing, ALesserRungStandsForItselfOnceTheWorseIsAcknowledged) {
  House h;
  AlarmView& high = h.high();
  h.raise(high, 39'800);
  h.out();
  h.acknowledge(high, "mara");
  h.pass(1min);
  h.raise(h.hot(), 39'700);
  const auto notes = h.out();
  ASSERT_EQ(notes.size(), 1U);
  EXPECT_EQ(notes[0].subject.alarm, "hot");
  EXPECT_THAT(notes[0].message, HasSubstr("at most 39.5 °C, since 02:14; Mara has it since 02:14"));
}

TEST(Announcing, BatchAndMachineRungsAreOneLadder) {
  House h;
  h.together = true;
  h.raise(h.high(), 41'200);
  h.raise(h.alarm("setter-a", "overheat", RuleKind::above, Priority::high, 41'000,
                  Quantity::temperature, ""),
          41'200);
  h.tell();
  EXPECT_THAT(lines(h.out()), ElementsAre("mara: TOO HOT Setter A 41.2 C rising (max 41.0) since "
                                          "02:14 +1 more. Open the door"));
}

TEST(Announcing, ASnoozedRaiseWaitsForTheSnoozesEnd) {
  House h;
  AlarmView& high = h.high();
  h.raise(high, 39'800);
  h.out();
  h.snooze(high, "mara", 30min);
  h.give_back(high, 39'000);
  h.pass(1min);
  high.snoozed_until = h.now.wall + 29min;
  h.raise(high, 39'900);
  EXPECT_THAT(h.pass(29min), IsEmpty());
  h.ring_again(high);
  const auto notes = h.out();
  ASSERT_EQ(notes.size(), 1U);
  EXPECT_THAT(notes[0].message, HasSubstr("Rings again: still so (high, priority high)."));
}

TEST(Announcing, RaisedAndThenSnoozedInOneTurnIsStillTold) {
  House h;
  h.together = true;
  AlarmView& high = h.high();
  h.raise(high, 39'800);
  h.snooze(high, "jonas", 30min);
  h.tell();
  const auto notes = h.out();
  ASSERT_EQ(notes.size(), 1U);
  EXPECT_THAT(notes[0].message, HasSubstr("Now: snoozed by Jonas until 02:44\n"));
  EXPECT_THAT(h.pass(20min), IsEmpty());
}

TEST(Announcing, AHighAlarmThatComesAndGoesInOneTurnIsTold) {
  House h;
  h.together = true;
  AlarmView& high = h.high();
  h.raise(high, 39'800);
  high.latched = true;
  h.give_back(high, 39'100);
  h.tell();
  const auto notes = h.out();
  ASSERT_EQ(notes.size(), 1U);
  EXPECT_EQ(notes[0].first_line, "TOO HOT Setter A 39.8 C (max 39.5) since 02:14. Open the door");
  EXPECT_THAT(notes[0].message,
              HasSubstr("Now: over since 02:14, latched until a person resets it\n"));
  EXPECT_EQ(notes[0].urgency, Urgency::high);
}

TEST(Announcing, AMediumAlarmThatComesAndGoesWhileGatheredIsToldQuietly) {
  House h;
  AlarmView& warm = h.warm();
  h.raise(warm, 38'500);
  h.pass(5s);
  h.give_back(warm, 38'000);
  const auto notes = h.pass(5s);
  ASSERT_THAT(lines(notes), ElementsAre("mara: BACK IN RANGE Setter A 38.0 C (max 38.3) since "
                                        "02:14. Was TOO HOT"));
  EXPECT_EQ(notes[0].urgency, Urgency::quiet);
  EXPECT_THAT(h.pass(3h), IsEmpty());
}

TEST(Quietly, TheOthersHearWhoHasItAndUntilWhen) {
  House h;
  AlarmView& high = h.high();
  h.raise(high, 39'800);
  h.pass(5min);  // Jonas is told
  h.acknowledge(high, "jonas");
  const auto notes = h.pass(10s);
  ASSERT_EQ(notes.size(), 1U);
  EXPECT_EQ(notes[0].contact, "mara");
  EXPECT_EQ(notes[0].urgency, Urgency::quiet);
  EXPECT_EQ(notes[0].message,
            "Jonas has it since 02:19, rings again at 02:49: TOO HOT Setter A 39.8 C (max 39.5)\n");
  EXPECT_EQ(notes[0].first_line,
            "Jonas has it since 02:19, rings again at 02:49: TOO HOT Setter A");
}

TEST(Quietly, AnAcknowledgementThatHoldsWithoutEndNamesNoTime) {
  House h;
  AlarmView& high = h.high();
  h.raise(high, 39'800);
  h.acknowledge(high, "odile", /*holds=*/false);
  const auto notes = h.pass(10s);
  ASSERT_EQ(notes.size(), 2U);  // the alarm and the news
  EXPECT_EQ(notes[1].first_line, "Odile has it since 02:14: TOO HOT Setter A 39.8 C (max 39.5)");
}

TEST(Quietly, ReturnSnoozeResetAndServiceAreShort) {
  House h;
  AlarmView& high = h.high();
  h.raise(high, 39'800);
  h.out();
  h.snooze(high, "jonas", 30min);
  EXPECT_THAT(lines(h.pass(10s)), ElementsAre("mara: Jonas snoozed it until 02:44: TOO HOT Setter "
                                              "A 39.8 C (max 39.5)"));
  high.latched = true;
  h.give_back(high, 39'200);
  const auto back = h.pass(10s);
  ASSERT_EQ(back.size(), 1U);
  EXPECT_EQ(back[0].message,
            "BACK IN RANGE Setter A 39.2 C (max 39.5) since 02:14. Was TOO HOT. "
            "It stays latched until a person has looked and resets it\n");
  high.state = AlarmState::out_of_service;
  high.out_of_service_until = at("2026-03-07T12:00:00Z");
  high.out_of_service_why = "fan is at the workshop";
  h.happen(high, EventKind::out_of_service, "jonas");
  const auto out = h.pass(10s);
  ASSERT_EQ(out.size(), 1U);
  EXPECT_EQ(out[0].message,
            "Jonas took it out of service until 7 Mar 12:00: TOO HOT Setter A 39.2 "
            "C (max 39.5). Reason: fan is at the workshop\n");
  h.reset(high, "jonas");
  EXPECT_THAT(lines(h.pass(10s)), ElementsAre("mara: Jonas reset it at 02:14: TOO HOT Setter A"));
}

// "Back in range" would send a keeper to bed.
TEST(Quietly, WhatReturnsWhileAnotherStandsIsNotBackInRange) {
  House h;
  AlarmView& high = h.high();
  AlarmView& hot = h.hot();
  h.raise(high, 39'800);
  h.raise(hot, 39'800);
  h.out();
  hot.value = 39'200;
  h.give_back(high, 39'200);
  const auto less = h.pass(10s);
  ASSERT_EQ(less.size(), 1U);
  EXPECT_EQ(less[0].first_line,
            "STILL TOO HOT Setter A 39.2 C (max 38.9). TOO HOT (high) over since 02:14");
  AlarmView& low = h.low();
  hot.value = 34'400;
  h.raise(low, 34'400);
  h.pass(10s);
  h.give_back(hot, 34'400);
  const auto cold = h.pass(10s);
  ASSERT_EQ(cold.size(), 1U);
  EXPECT_EQ(cold[0].first_line,
            "NOW TOO COLD Setter A 34.4 C (min 35.0). TOO HOT (hot) over since 02:14");
}

TEST(Quietly, NobodyHearsOfTheirOwnActNorOfWhatTheyWereNotTold) {
  House h;
  AlarmView& high = h.high();
  h.raise(high, 39'800);
  h.out();
  h.acknowledge(high, "mara");
  h.happen(high, EventKind::snooze_ended);
  EXPECT_THAT(h.pass(10s), IsEmpty());
  AlarmView& hot = h.hot("setter-b");
  hot.episode = "never told";
  h.happen(hot, EventKind::returned);
  EXPECT_THAT(h.pass(10s), IsEmpty());
  EXPECT_EQ(h.store.count("announcements/setter-b"), 0U);
}

TEST(Attending, WhatConcernsItWaitsAndIsToldIfStillSo) {
  House h;
  AlarmView& low = h.alarm("setter-a", "low", RuleKind::below, Priority::high, 34'500);
  low.attending = true;
  h.raise(low, 33'900);
  EXPECT_THAT(h.pass(20min), IsEmpty());
  low.attending = false;
  h.announcer.attending_ended("setter-a", h.alarms, h.now);
  EXPECT_THAT(lines(h.out()), ElementsAre("mara: TOO COLD Setter A 33.9 C rising (min 34.5) since "
                                          "02:14. Check door and power"));
}

TEST(Attending, WhatIsOverByItsEndIsNotTold) {
  House h;
  AlarmView& low = h.alarm("setter-a", "low", RuleKind::below, Priority::high, 34'500);
  low.attending = true;
  h.raise(low, 33'900);
  h.pass(1min);
  h.give_back(low, 37'000);
  h.reset(low, "mara");
  low.attending = false;
  h.announcer.attending_ended("setter-a", h.alarms, h.now);
  EXPECT_THAT(h.pass(1h), IsEmpty());
  EXPECT_EQ(h.store.count("announcements/setter-a"), 0U);
}

TEST(Attending, RemindersWaitForItsEnd) {
  House h;
  AlarmView& low = h.alarm("setter-a", "low", RuleKind::below, Priority::high, 34'500);
  h.raise(low, 33'900);
  h.out();
  h.pass(1min);
  low.attending = true;
  EXPECT_THAT(h.pass(30min), IsEmpty());
  low.attending = false;
  h.announcer.attending_ended("setter-a", h.alarms, h.now);
  // Steps of 5 and 15 min have passed, too: all three hear of it in one call.
  EXPECT_EQ(h.out().size(), 3U);
}

TEST(Nobody, IsNoTrouble) {
  House h{Settings{}};
  h.raise(h.high(), 39'800);
  h.raise(h.warm(), 38'800);
  EXPECT_THAT(h.pass(24h), IsEmpty());
  EXPECT_FALSE(h.announcer.tell_test("", "mara", h.now));
  h.announcer.tell_service("X", "Y", Urgency::high, h.now);
  EXPECT_THAT(h.out(), IsEmpty());
}

TEST(Nobody, AContactWithoutChannelsOrNameIsPassedOver) {
  Settings settings = saltmere();
  settings.contacts["mara"].clear();
  settings.escalation[0].notify.push_back("nobody");
  House h(settings);
  h.raise(h.high(), 39'800);
  // Nobody of the first step can be told: the second is called at once.
  EXPECT_THAT(lines(h.out()), ElementsAre(std::string("jonas: ") + kHigh));
}

TEST(Service, GoesToTheFirstStepAtOnce) {
  House h;
  h.announcer.tell_service("READINGS LOST since 02:10, queue full — 12 dropped", "Look.",
                           Urgency::high, h.now);
  const auto notes = h.out();
  ASSERT_EQ(notes.size(), 1U);
  EXPECT_EQ(notes[0].contact, "mara");
  EXPECT_EQ(notes[0].first_line, "READINGS LOST since 02:10, queue full ? 12 dropped");
  EXPECT_EQ(notes[0].message, "Look.\n");
  EXPECT_EQ(notes[0].subject, AlarmKey{});
  EXPECT_EQ(notes[0].id, "20260306T021400000Z-1-site");
}

TEST(TestMessage, GoesToOneOrAll) {
  House h;
  EXPECT_FALSE(h.announcer.tell_test("nobody", "mara", h.now));
  EXPECT_TRUE(h.announcer.tell_test("jonas", "mara", h.now));
  EXPECT_THAT(lines(h.out()), ElementsAre("jonas: TEST Saltmere, asked for by Mara at 02:14. "
                                          "Nothing is wrong"));
  EXPECT_TRUE(h.announcer.tell_test("", "", h.now));
  EXPECT_EQ(h.out().size(), 3U);
}

// Within the gathering it was ended and rang again: "snoozed until" would be false by then.
TEST(Announcing, ASnoozeThatIsOverBeforeItIsToldIsNoNews) {
  Settings settings = saltmere();
  settings.escalation = {{0s, {"mara", "jonas"}}};
  House h(settings);
  AlarmView& high = h.high();
  h.raise(high, 39'800);
  h.out();
  h.snooze(high, "mara", 30min);
  EXPECT_EQ(h.pass(11s).size(), 1U) << "a snooze that stands is told to the other";
  h.ring_again(high);
  h.out();
  h.snooze(high, "mara", 30min);
  h.ring_again(high);
  for (const Notification& note : h.pass(11s))
    EXPECT_THAT(note.message, testing::Not(HasSubstr("Mara snoozed it")));
}

}  // namespace
}  // namespace clutchward
