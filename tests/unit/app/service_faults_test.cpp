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

TEST_F(FaultsOfTheWatch, FitThePhonesFirstLine) {
  faults_.once(std::string(90, 'X'), "Long.", "Look", Urgency::low, at(1h));
  EXPECT_EQ(told(1h).at(0).size(), 80U);
}

}  // namespace
}  // namespace clutchward
