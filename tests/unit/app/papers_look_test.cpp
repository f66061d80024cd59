// Reports and what happened out of a history file of its own: what is committed, what waits, and
// what stands in both places counts once. Expectations are counted by hand.
#include <gmock/gmock.h>
#include <stdlib.h>

#include <algorithm>
#include <filesystem>

#include "app/event_look.h"
#include "app/report_look.h"
#include "report/report.h"
#include "wire/record_json.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

constexpr Wall kStart{1772352000000ms};  // 2026-03-01T08:00:00Z
constexpr std::int64_t kMinute = 1772352000000 / 60000;

HistoryMinute row(std::int64_t minute, const std::string& probe, Milli mean) {
  return {kMinute + minute, "setter-a", probe, "temperature", mean - 10, mean, mean + 10, 6};
}

HistoryEvent event(Span after, const std::string& alarm, const std::string& batch = "hens-12") {
  const Wall at = kStart + after;
  return {
      at, "setter-a", batch,
      R"({"at":")" + to_rfc3339(at) + R"(","cabinet":"setter-a","batch":")" + batch +
          R"(","alarm":")" + alarm +
          R"(","event":"raised","value":39.6,"limit":39.5,"worst":39.6,"by":null,"kind":"above",)"
          R"("quantity":"temperature","priority":"high","latched":true})"};
}

HistoryRecord record(int eggs, bool ended = false) {
  BatchRecord batch;
  batch.id = "hens-12";
  batch.cabinet = "setter-a";
  batch.set_at = kStart;
  batch.days = 21;
  batch.eggs = eggs;
  batch.set = true;
  if (ended) batch.ended_at = kStart + 3h;
  return {"hens-12", to_json(batch), R"({"site":"Saltmere","timezone":"UTC"})", ended};
}

class PapersLook : public testing::Test {
 protected:
  PapersLook() {
    char name[] = "/tmp/papers-test-XXXXXX";
    root_ = ::mkdtemp(name);
  }
  ~PapersLook() override { std::filesystem::remove_all(root_); }
  const HistoryFile* kept(const HistoryRows& rows) {
    EXPECT_FALSE(file_.open(root_ + "/history.db", HistoryFile::For::writing));
    EXPECT_FALSE(file_.write(rows));
    EXPECT_FALSE(file_.open(root_ + "/history.db", HistoryFile::For::reading));
    return &file_;
  }
  static Json made(const HistoryFile* file, const HistoryRows& waiting) {
    const ReportMade report =
        look_at_report(file, "", waiting, {ReportForm::json, {"hens-12"}, ""}, Zone());
    EXPECT_EQ(report.trouble, "");
    return Json::parse(report.body);
  }
  std::string root_;
  HistoryFile file_;
};

TEST_F(PapersLook, ReportOfWhatIsKeptAndWhatWaits) {
  HistoryRows rows;
  rows.records = {record(48)};
  rows.minutes = {row(0, "top", 37'000), row(1, "top", 37'200), row(0, "low", 37'400)};
  rows.events = {event(1min, "high"), event(2min, "warm", "geese-3")};
  HistoryRows waiting;
  waiting.records = {record(46)};
  // One that is being committed, one of a slow probe, one that is new; one of another cabinet.
  waiting.minutes = {row(1, "top", 37'200), row(1, "low", 37'600), row(60, "top", 37'500)};
  waiting.minutes.push_back({kMinute + 61, "setter-b", "top", "temperature", 1, 1, 1, 1});
  waiting.events = {event(1min, "high"), event(70min, "hot"), event(60min, "low")};
  const Json report = made(kept(rows), waiting);
  EXPECT_EQ(report["eggs"], 46);
  EXPECT_EQ(report["until"], "2026-03-01T09:01:00.000Z");
  ASSERT_EQ(report["temperature"].size(), 2U);
  // The first hour: minute 0 is the mean of 37.0 and 37.4, minute 1 of 37.2 and 37.6.
  EXPECT_EQ(report["temperature"][0]["mean"], 37.3);
  EXPECT_EQ(report["temperature"][0]["min"], 36.99);
  EXPECT_EQ(report["temperature"][1]["mean"], 37.5);
  std::vector<std::string> alarms;
  for (const Json& each : report["alarms"]) alarms.push_back(each["alarm"]);
  EXPECT_THAT(alarms, testing::UnorderedElementsAre("high", "low"));
}

TEST_F(PapersLook, ReportWithoutAFileIsOfWhatWaits) {
  HistoryRows waiting;
  waiting.records = {record(48)};
  waiting.minutes = {row(5, "top", 37'500)};
  EXPECT_EQ(made(nullptr, waiting)["temperature"].size(), 1U);
}

TEST_F(PapersLook, BatchThatEndedKeepsItsSchedule) {
  HistoryRows rows;
  rows.records = {record(48, true)};
  HistoryRows waiting;
  waiting.records = {record(40, true)};
  waiting.records[0].schedule = R"({"site":"Elsewhere","timezone":"UTC"})";
  const Json report = made(kept(rows), waiting);
  EXPECT_EQ(report["eggs"], 40);
  EXPECT_EQ(report["site"], "Saltmere");
  EXPECT_EQ(report["until"], "2026-03-01T11:00:00.000Z");
}

TEST_F(PapersLook, WhatThereIsNotIsSaid) {
  HistoryRows rows;
  rows.records = {record(48)};
  const auto* file = kept(rows);
  ReportMade none = look_at_report(file, "", {}, {ReportForm::page, {"hens-21"}, ""}, Zone());
  EXPECT_TRUE(none.unknown);
  EXPECT_EQ(none.trouble,
            "the history has no batch \"hens-21\"; did you mean \"hens-12\"?; it has hens-12");
  none = look_at_report(file, "", {}, {ReportForm::table, {"hens-12"}, "eggs"}, Zone());
  EXPECT_TRUE(none.unknown);
  EXPECT_THAT(none.trouble,
              testing::StartsWith("this report has no table \"eggs\", or it is empty; "
                                  "it has batch"));
  none = look_at_report(nullptr, "", {}, {ReportForm::page, {"hens-12"}, ""}, Zone());
  EXPECT_TRUE(none.unknown) << "nothing has been committed yet";
  none = look_at_report(nullptr, "no such file", {}, {ReportForm::page, {"hens-12"}, ""}, Zone());
  EXPECT_FALSE(none.unknown);
  EXPECT_EQ(none.trouble, "no such file");
}

TEST_F(PapersLook, EventsPageByPageWithNoneLostAndNoneTwice) {
  HistoryRows rows;
  std::vector<HistoryEvent> waiting;
  // Seven of one instant, four of them not committed yet, one of which is in the file as well.
  for (int i = 0; i < 4; ++i) rows.events.push_back(event(1h, "a" + std::to_string(i)));
  for (int i = 3; i < 7; ++i) waiting.push_back(event(1h, "a" + std::to_string(i)));
  rows.events.push_back(event(0min, "first"));
  waiting.push_back(event(2h, "last"));
  waiting.push_back(event(3h, "later"));
  waiting.push_back(event(90min, "other", "geese-3"));
  const auto* file = kept(rows);
  EventsWanted wanted{"setter-a", "hens-12", kStart + 2h, 0, 3};
  std::vector<std::string> seen;
  for (bool more = true; more;) {
    const EventsFound found = look_back(file, "", waiting, wanted);
    for (const PastEvent& each : found.events) seen.push_back(each.noted.event.key.alarm);
    const Wall last = found.events.back().noted.event.at;
    const auto same = static_cast<std::size_t>(
        std::count_if(found.events.begin(), found.events.end(),
                      [&](const PastEvent& each) { return each.noted.event.at == last; }));
    wanted.skip = last == wanted.until ? wanted.skip + same : same;
    wanted.until = last;
    more = found.more;
    ASSERT_LE(seen.size(), 9U);
  }
  EXPECT_THAT(seen,
              testing::ElementsAre("last", "a6", "a5", "a4", "a3", "a2", "a1", "a0", "first"));
}

}  // namespace
}  // namespace clutchward
