// Restarts in every phase: what was waiting goes on, nothing is told twice that a channel took, no
// number comes again.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "house.h"

namespace clutchward {
namespace {

using namespace house;
using testing::ElementsAre;
using testing::IsEmpty;

void down(House& h, Span span) {
  h.keep();
  // The clock that never jumps starts anew with the machine.
  h.now = {Steady(1min), h.now.wall + span, true};
  h.restart();
}

std::vector<std::string> stamps(const std::vector<Notification>& notes) {
  std::vector<std::string> text;
  for (const Notification& note : notes)
    text.push_back(note.contact + " " + to_rfc3339(note.made_at).substr(11, 8));
  return text;
}

TEST(Restart, InTheMiddleOfAGathering) {
  House h;
  h.raise(h.warm(), 38'500);
  h.pass(4s);
  down(h, 2s);
  EXPECT_THAT(h.pass(3999ms), IsEmpty());
  EXPECT_THAT(stamps(h.pass(1ms)), ElementsAre("mara 02:14:10"));
}

TEST(Restart, WithNewsGathered) {
  House h;
  AlarmView& high = h.high();
  h.raise(high, 39'800);
  h.out();
  h.acknowledge(high, "jonas");
  down(h, 1min);
  EXPECT_THAT(
      lines(h.pass(0s)),
      ElementsAre("mara: Jonas has it since 02:14, rings again at 02:44: TOO HOT Setter A"));
}

TEST(Restart, InTheMiddleOfAnEscalation) {
  House h;
  h.raise(h.high(), 39'800);
  h.pass(1min);
  down(h, 1min);
  EXPECT_THAT(stamps(h.pass(4min)),
              ElementsAre("mara 02:17:00", "jonas 02:19:00", "jonas 02:20:00", "mara 02:20:00"));
}

TEST(Restart, PastAStepTellsItAtOnce) {
  House h;
  h.raise(h.high(), 39'800);
  h.pass(1min);
  down(h, 10min);
  EXPECT_THAT(stamps(h.pass(0s)), ElementsAre("jonas 02:25:00", "mara 02:25:00"));
}

TEST(Restart, WithAnUntrustedClockWhatWasLeftGoesOn) {
  House h;
  h.raise(h.high(), 39'800);
  h.pass(1min);
  h.keep();
  h.now = {Steady(1min), at("1970-01-01T00:00:30Z"), false};
  h.restart();
  EXPECT_EQ(h.announcer.next_deadline(), h.now.steady + 2min);
}

TEST(Restart, InTheMiddleOfABackOff) {
  House h;
  h.raise(h.high(), 39'800);
  const auto notes = h.out(false);
  h.announcer.report({notes.at(0).id, Outcome::try_again, "timeout", 20s}, h.alarms, h.now);
  down(h, 5s);
  EXPECT_THAT(h.out(), IsEmpty());
  h.now = {h.now.steady + 15s, h.now.wall + 15s, true};
  const auto again = h.out();
  ASSERT_EQ(again.size(), 1U);
  EXPECT_EQ(again[0], notes[0]);
}

TEST(Restart, AMessageThatAChannelHadGoesOutAgainUnderItsId) {
  House h;
  h.raise(h.high(), 39'800);
  const auto notes = h.out(false);
  down(h, 1s);
  EXPECT_EQ(h.out(), notes);
  EXPECT_THAT(h.out(), IsEmpty());
}

TEST(Restart, NumbersNeverComeTwice) {
  House h;
  AlarmView& high = h.high();
  h.raise(high, 39'800);
  EXPECT_EQ(h.out().at(0).id, "20260306T021400000Z-1-setter-a");
  h.acknowledge(high, "mara");
  down(h, 0s);
  h.ring_again(high);
  EXPECT_EQ(h.out().at(0).id, "20260306T021400000Z-2-setter-a");
}

TEST(Restart, WhileSomebodyAttends) {
  House h;
  AlarmView& low = h.alarm("setter-a", "low", RuleKind::below, Priority::high, 34'500);
  low.attending = true;
  h.raise(low, 33'900);
  down(h, 1min);
  EXPECT_THAT(h.pass(10min), IsEmpty());
  low.attending = false;
  h.announcer.attending_ended("setter-a", h.alarms, h.now);
  EXPECT_EQ(h.out().size(), 1U);
}

TEST(Restart, DamagedTreesAreLeftOut) {
  House h;
  h.raise(h.high(), 39'800);
  h.keep();
  auto kept = h.kept();
  for (auto& [key, tree] : kept) tree = Tree("rubbish");
  kept.emplace_back("announcements/", Tree::list());
  kept.emplace_back("something/else", Tree::map());
  h.announcer.restore(kept, h.now.wall, h.now);
  EXPECT_THAT(h.pass(1h), IsEmpty());
}

TEST(Keeping, ACabinetWithNothingLeftIsForgotten) {
  House h;
  AlarmView& high = h.high();
  h.raise(high, 39'800);
  h.out();
  EXPECT_EQ(h.store.count("announcements/setter-a"), 1U);
  h.acknowledge(high, "mara");
  h.give_back(high, 37'500);
  h.pass(10s);
  ASSERT_EQ(h.store.size(), 2U);
  EXPECT_EQ(h.store.begin()->first, "announcements/+floods");
  EXPECT_EQ(h.store.rbegin()->first, "announcements/+number");
}

TEST(Keeping, TheSitesAlarmsHaveATreeOfTheirOwn) {
  House h;
  h.raise(h.alarm("", "broker", RuleKind::broker, Priority::high, {}, Quantity::temperature, ""));
  h.keep();
  EXPECT_EQ(h.store.count("announcements/+site"), 1U);
  down(h, 0s);
  EXPECT_EQ(h.out().size(), 1U);
  EXPECT_EQ(h.pass(3min).size(), 1U);
}

}  // namespace
}  // namespace clutchward
