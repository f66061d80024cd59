// The words of the planned test message.
#include "notification/planned_test.h"

#include <gtest/gtest.h>

namespace clutchward {
namespace {

using namespace std::chrono_literals;

Notification written(TestSettings test, const std::string& site = "Saltmere") {
  Settings settings;
  settings.site = site;
  const Zone zone;
  return write_planned_test(test, {settings, zone, Wall{}});
}

TEST(PlannedTest, SaysWhenTheNextOneIsToBeMissed) {
  const Notification note = written({});
  EXPECT_EQ(note.first_line, "TEST Saltmere, as every Monday at 09:00. Nothing is wrong");
  EXPECT_EQ(note.urgency, Urgency::low);
  EXPECT_EQ(note.message,
            "This is the test message from Saltmere that comes every Monday at 09:00.\n"
            "Nothing is wrong. If you can read it, an alarm would reach you this way. If it fails "
            "to come one day, an alarm would not come either: go and look.\n");
}

TEST(PlannedTest, SeveralDaysAndALongName) {
  TestSettings test;
  test.on = {std::chrono::Monday, std::chrono::Wednesday, std::chrono::Sunday};
  test.at = 18h + 5min;
  EXPECT_NE(written(test).message.find("every Monday, Wednesday and Sunday at 18:05"),
            std::string::npos);
  test.on = {std::chrono::Monday,   std::chrono::Tuesday, std::chrono::Wednesday,
             std::chrono::Thursday, std::chrono::Friday,  std::chrono::Saturday,
             std::chrono::Sunday};
  EXPECT_EQ(written(test).first_line, "TEST Saltmere, as every day at 18:05. Nothing is wrong");
  EXPECT_LE(written(test, std::string(64, 'x')).first_line.size(), kFirstLine);
}

}  // namespace
}  // namespace clutchward
