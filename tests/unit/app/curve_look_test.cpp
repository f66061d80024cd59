// From the history's rows to a curve, on a file of its own: what is committed, what still waits,
// what was moved from one cabinet to another. Cells are compared with sums made by hand.
#include "app/curve_look.h"

#include <gmock/gmock.h>
#include <stdlib.h>

#include <filesystem>

#include "app/history_keeper.h"
#include "base/limits.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

constexpr Wall kStart{1772352000000ms};  // 2026-03-01T08:00:00Z
constexpr std::int64_t kMinute = 1772352000000 / 60000;

HistoryMinute row(std::int64_t minute, const std::string& cabinet, const std::string& probe,
                  Milli mean) {
  return {kMinute + minute, cabinet, probe, "temperature", mean - 10, mean, mean + 10, 6};
}

std::string event(const char* at, const char* what, const char* worst = "39.6") {
  return std::string(R"({"at":")") + at +
         R"(","cabinet":"setter-a","batch":"hens-12","alarm":"high","event":")" + what +
         R"(","value":39.6,"limit":39.5,"worst":)" + worst +
         R"(,"by":null,"kind":"above","quantity":"temperature","priority":"high","latched":true})";
}

class CurveLook : public testing::Test {
 protected:
  CurveLook() {
    char name[] = "/tmp/curve-test-XXXXXX";
    root_ = ::mkdtemp(name);
  }
  ~CurveLook() override { std::filesystem::remove_all(root_); }
  const HistoryFile* kept(const HistoryRows& rows) {
    EXPECT_FALSE(file_.open(root_ + "/history.db", HistoryFile::For::writing));
    EXPECT_FALSE(file_.write(rows));
    EXPECT_FALSE(file_.open(root_ + "/history.db", HistoryFile::For::reading));
    return &file_;
  }
  std::string root_;
  HistoryFile file_;
};

CurveWanted hour() {
  CurveWanted wanted;
  wanted.stays = {{"setter-a", kStart, kStart + 1h, {"hall"}}};
  wanted.step = 5min;
  return wanted;
}

TEST_F(CurveLook, StepsOfTheAirProbesCommittedAndWaiting) {
  HistoryRows rows;
  rows.minutes = {row(0, "setter-a", "top", 37'000), row(0, "setter-a", "low", 37'200),
                  row(4, "setter-a", "top", 37'400), row(0, "setter-a", "hall", 18'000),
                  row(0, "setter-b", "top", 20'000), row(-1, "setter-a", "top", 1)};
  rows.minutes.push_back({kMinute + 5, "setter-a", "lid", "humidity", 54'000, 55'000, 56'000, 6});
  HistoryRows waiting;
  waiting.minutes = {row(59, "setter-a", "top", 37'500), row(60, "setter-a", "top", 37'600),
                     row(75, "setter-a", "top", 1)};
  const CurveFound found = look_at_curve(kept(rows), "", waiting, hour());
  EXPECT_EQ(found.trouble, "");
  EXPECT_EQ(found.every, 1);
  EXPECT_THAT(found.temperature,
              testing::ElementsAre(CurveStep{kStart, 36'990, 37'200, 37'410},
                                   CurveStep{kStart + 55min, 37'490, 37'500, 37'510},
                                   CurveStep{kStart + 60min, 37'590, 37'600, 37'610}));
  EXPECT_THAT(found.humidity,
              testing::ElementsAre(CurveStep{kStart + 5min, 54'000, 55'000, 56'000}));
}

TEST_F(CurveLook, WithoutAFileWhatWaitsIsStillThere) {
  HistoryRows waiting;
  waiting.minutes = {row(3, "setter-a", "top", 37'500)};
  const CurveFound found = look_at_curve(nullptr, "no such file", waiting, hour());
  EXPECT_EQ(found.trouble, "no such file");
  ASSERT_EQ(found.temperature.size(), 1U);
}

TEST_F(CurveLook, BatchThatWasMovedTakesItsCurveAlong) {
  HistoryRows rows;
  rows.minutes = {row(10, "setter-a", "top", 37'500), row(50, "setter-a", "top", 20'000),
                  row(10, "hatcher", "top", 21'000), row(50, "hatcher", "top", 37'200)};
  CurveWanted wanted = hour();
  wanted.stays = {{"setter-a", kStart, kStart + 30min, {}},
                  {"hatcher", kStart + 30min, kStart + 1h, {}}};
  wanted.step = 10min;
  const CurveFound found = look_at_curve(kept(rows), "", {}, wanted);
  ASSERT_EQ(found.temperature.size(), 2U);
  EXPECT_EQ(found.temperature[0].mean, 37'500);
  EXPECT_EQ(found.temperature[1].mean, 37'200);
}

// A month is looked at by every fourth minute: 43,200 of them at most kCurveMinutes.
TEST_F(CurveLook, LongTimesAreSampled) {
  CurveWanted wanted = hour();
  wanted.stays[0].to = kStart + 30 * 24h;
  wanted.step = 2h;
  HistoryRows rows;
  for (int minute = 0; minute < 8; ++minute)
    rows.minutes.push_back(row(minute, "setter-a", "top", 37'000 + minute));
  rows.minutes.push_back(row(40'000, "setter-a", "top", 38'000));
  const CurveFound found = look_at_curve(kept(rows), "", {}, wanted);
  EXPECT_EQ(found.every, 4);
  ASSERT_EQ(found.temperature.size(), 2U);
  EXPECT_EQ(found.temperature[0].mean, 37'002);  // of minutes 0 and 4
  EXPECT_EQ(found.temperature[1].mean, 38'000);
}

TEST_F(CurveLook, EventsOfTheBatchOnceEach) {
  HistoryRows rows;
  const auto at = [](Span after) { return kStart + after; };
  rows.events = {{at(10min), "setter-a", "hens-12", event("2026-03-01T08:10:00.000Z", "raised")},
                 {at(11min), "setter-a", "geese-3", event("2026-03-01T08:11:00.000Z", "raised")},
                 {at(12min), "setter-b", "", event("2026-03-01T08:12:00.000Z", "raised")},
                 {at(13min), "setter-a", "", "no JSON"}};
  HistoryRows waiting;
  waiting.events = {
      rows.events[0],  // being committed: it stands in both places
      {at(20min), "setter-a", "hens-12", event("2026-03-01T08:20:00.000Z", "returned", "39.8")}};
  CurveWanted wanted = hour();
  wanted.batch = "hens-12";
  const CurveFound found = look_at_curve(kept(rows), "", waiting, wanted);
  ASSERT_EQ(found.events.size(), 2U);
  EXPECT_EQ(found.events[0].event.kind, EventKind::raised);
  EXPECT_EQ(found.events[0].priority, Priority::high);
  EXPECT_EQ(found.events[1].event.worst, 39'800);
  const auto latest = look_at_events(&file_, kStart, 2);
  ASSERT_EQ(latest.size(), 2U);
  EXPECT_EQ(latest[0].at, at(11min));
}

}  // namespace
}  // namespace clutchward
