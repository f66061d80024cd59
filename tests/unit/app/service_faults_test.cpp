// Each fault of the watch is told once when it begins and once when it is over.
#include "app/service_faults.h"

#include <gtest/gtest.h>

namespace clutchward {
namespace {

using namespace std::chrono_literals;

class FaultsOfTheWatch : public testing::Test {
 protected:
  FaultsOfTheWatch() {
    settings_.site = "Saltmere";
    ChannelSettings hook;
    hook.webhook = WebhookChannel{};
    settings_.contacts["mara"] = {hook};
    settings_.escalation = {{0s, {"mara"}}};
    announcer_.configure(settings_, zone_);
  }

  Moment at(Span span) const { return {Steady(span), Wall(span), true}; }
  // The first lines told since the last look.
  std::vector<std::string> told(Span span) {
    std::vector<std::string> lines;
    announcer_.take_changes(at(span));
    for (const Notification& note : announcer_.take_due(at(span))) lines.push_back(note.first_line);
    return lines;
  }
  using Lines = std::vector<std::string>;

  Settings settings_;
  Zone zone_;
  Announcer announcer_{settings_, zone_};
  ServiceFaults faults_{announcer_, "Saltmere"};
};

TEST_F(FaultsOfTheWatch, OfTwoChannelsEachIsToldAndEachIsOver) {
  const std::string start = "A CHANNEL FAILS (";
  faults_.begins(start + "mara by email)", "No answer.", "Look", Urgency::medium, at(1h));
  EXPECT_EQ(told(1h), Lines{"A CHANNEL FAILS (mara by email) at Saltmere. Look"});
  faults_.begins(start + "mara by email)", "No answer.", "Look", Urgency::medium, at(2h));
  EXPECT_EQ(told(2h), Lines{});
  faults_.begins(start + "jonas by email)", "No answer.", "Look", Urgency::medium, at(3h));
  EXPECT_EQ(told(3h), Lines{"A CHANNEL FAILS (jonas by email) at Saltmere. Look"});
  faults_.ends_but(start, {start + "jonas by email)"}, at(4h));
  EXPECT_EQ(told(4h), Lines{"OVER: A CHANNEL FAILS (mara by email) at Saltmere. Nothing to do"});
  EXPECT_EQ(faults_.all().size(), 1U);
  faults_.ends_but(start, {}, at(5h));
  EXPECT_EQ(told(5h), Lines{"OVER: A CHANNEL FAILS (jonas by email) at Saltmere. Nothing to do"});
  EXPECT_TRUE(faults_.all().empty());
}

TEST_F(FaultsOfTheWatch, ThatComeAndGoAllNightRingTwiceAndAreOverOnceTheyKeepAway) {
  const std::string what = "SOMEBODY ELSE USES OUR MQTT CLIENT ID";
  Span time = 1h;
  Lines lines;
  const auto listen = [&] {
    for (std::string& line : told(time)) lines.push_back(std::move(line));
  };
  for (int i = 0; i < 60; ++i) {
    faults_.begins(what, "It took over.", "Stop it", Urgency::high, at(time));
    listen();
    faults_.ends(what, at(time += 1s));
    listen();
    faults_.settle(at(time += 59s));
    listen();
  }
  const std::string begins = what + " at Saltmere. Stop it";
  const std::string over = "OVER: " + what + " at Saltmere. Nothing to do";
  EXPECT_EQ(lines, (Lines{begins, over, begins}));
  EXPECT_TRUE(faults_.stands(what));
  faults_.settle(at(time += 9min));
  EXPECT_EQ(told(time), Lines{});
  faults_.settle(at(time += 1min));
  EXPECT_EQ(told(time), Lines{over});
  EXPECT_FALSE(faults_.stands(what));
  // Much later it is a new one, told and over as the first.
  faults_.settle(at(time += 1h));
  faults_.begins(what, "It took over.", "Stop it", Urgency::high, at(time));
  faults_.ends(what, at(time));
  EXPECT_EQ(told(time), (Lines{begins, over}));
}

TEST_F(FaultsOfTheWatch, AreShownWhileTheyStandAndADayWhereTheyCannotBeOver) {
  faults_.begins("THE WATCH RUNS LATE", "20s.", "Look", Urgency::medium, at(1h));
  faults_.once("PART OF THE STATE WAS DAMAGED", "A file.", "Look", Urgency::high, at(2h));
  const auto seen = faults_.view(at(25h));
  ASSERT_EQ(seen.size(), 2U);
  EXPECT_EQ(seen[0], (WatchFault{"THE WATCH RUNS LATE", "20s.", Wall(1h), Shown::as_fault}));
  EXPECT_EQ(seen[1].what, "PART OF THE STATE WAS DAMAGED");
  EXPECT_EQ(faults_.view(at(26h)).size(), 1U);
  faults_.ends("THE WATCH RUNS LATE", at(27h));
  EXPECT_TRUE(faults_.view(at(27h)).empty());
}

TEST_F(FaultsOfTheWatch, ThatStandOverARestartRingNoSecondTime) {
  faults_.begins("A CHANNEL FAILS (mara by email)", "No answer.", "Look", Urgency::medium, at(1h),
                 Shown::elsewhere);
  faults_.once("PART OF THE STATE WAS DAMAGED", "A file.", "Look", Urgency::high, at(2h));
  const auto kept = faults_.take_changed();
  ASSERT_TRUE(kept);
  EXPECT_FALSE(faults_.take_changed());
  told(2h);

  ServiceFaults after(announcer_, "Saltmere");
  after.restore(*kept, at(3h), 20min);
  EXPECT_FALSE(after.take_changed());
  const auto seen = after.view(at(3h));
  ASSERT_EQ(seen.size(), 2U);
  EXPECT_EQ(seen[0].since, Wall(1h));
  EXPECT_EQ(seen[0].detail, "No answer.");
  EXPECT_EQ(seen[1].what, "PART OF THE STATE WAS DAMAGED");
  EXPECT_EQ(after.view(at(26h)).size(), 1U);  // a day from when it was told, not from the start
  // No sign of it yet is no end of it, and found again it is the same.
  after.ends_but("A CHANNEL FAILS (", {}, at(3h + 1min));
  after.begins("A CHANNEL FAILS (mara by email)", "No answer.", "Look", Urgency::medium,
               at(3h + 10min), Shown::elsewhere);
  EXPECT_EQ(told(3h + 10min), Lines{});
  EXPECT_EQ(after.view(at(3h + 10min))[0].since, Wall(1h));
  after.ends_but("A CHANNEL FAILS (", {}, at(3h + 11min));
  EXPECT_EQ(told(3h + 11min),
            Lines{"OVER: A CHANNEL FAILS (mara by email) at Saltmere. Nothing to do"});
  EXPECT_TRUE(after.take_changed());
}

TEST_F(FaultsOfTheWatch, OfBeforeEndForWantOfASignLaterAndForCertainAtOnce) {
  faults_.begins("READINGS ARE LOST", "9.", "Look", Urgency::high, at(1h));
  faults_.begins("THE WATCH RUNS LATE", "20s.", "Look", Urgency::medium, at(1h));
  const auto kept = faults_.take_changed();
  told(1h);
  ServiceFaults after(announcer_, "Saltmere");
  after.restore(*kept, at(2h), 20min);
  after.ends("THE WATCH RUNS LATE", at(2h));
  EXPECT_EQ(told(2h), Lines{"OVER: THE WATCH RUNS LATE at Saltmere. Nothing to do"});
  after.seems_over("READINGS ARE LOST", at(2h + 19min));
  EXPECT_TRUE(after.stands("READINGS ARE LOST"));
  after.seems_over("READINGS ARE LOST", at(2h + 20min));
  EXPECT_FALSE(after.stands("READINGS ARE LOST"));
}

TEST_F(FaultsOfTheWatch, FitThePhonesFirstLine) {
  faults_.once(std::string(90, 'X'), "Long.", "Look", Urgency::low, at(1h));
  EXPECT_EQ(told(1h).at(0).size(), 80U);
}

}  // namespace
}  // namespace clutchward
