// When the batches' tasks are asked for: on their day at the hour, once, over restarts and late
// starts. Hours and days as the daemon's own; no published source.
#include "app/task_round.h"

#include <gtest/gtest.h>

namespace clutchward {
namespace {

using namespace std::chrono_literals;

Wall at(const char* text) { return *parse_rfc3339(text); }
Moment moment(const char* text, bool trusted = true) {
  return {Steady(at(text).time_since_epoch()), at(text), trusted};
}

BatchStanding batch(std::vector<BatchDate> dates) {
  BatchStanding one;
  one.record.id = "hens-12";
  one.record.set = true;
  one.cabinet_name = "Setter A";
  one.dates = std::move(dates);
  return one;
}

BatchDate date(TaskKind kind, const char* when, const char* what) {
  return {kind, 1, at(when), at(when), what, false};
}

TEST(TaskRound, OnceADayAtItsHour) {
  TaskRound round;
  EXPECT_FALSE(round.due(moment("2026-03-01T07:00:00Z"), 8h, Zone()));
  EXPECT_FALSE(round.due(moment("2026-03-01T07:59:59Z"), 8h, Zone()));
  EXPECT_TRUE(round.due(moment("2026-03-01T08:00:00Z"), 8h, Zone()));
  round.take({}, at("2026-03-01T08:00:00Z"), Zone());
  EXPECT_FALSE(round.due(moment("2026-03-01T08:00:01Z"), 8h, Zone()));
  EXPECT_FALSE(round.due(moment("2026-03-02T08:00:00Z", false), 8h, Zone()));  // no true clock
  EXPECT_TRUE(round.due(moment("2026-03-02T08:00:05Z"), 8h, Zone()));
}

TEST(TaskRound, AMissedHourIsMadeUpForByDayOnly) {
  TaskRound round;
  round.take({}, at("2026-03-01T08:00:00Z"), Zone());
  TaskRound night = round;
  EXPECT_TRUE(round.due(moment("2026-03-04T15:00:00Z"), 8h, Zone()));
  EXPECT_FALSE(night.due(moment("2026-03-04T21:00:00Z"), 8h, Zone()));
  EXPECT_FALSE(night.due(moment("2026-03-05T07:00:00Z"), 8h, Zone()));
  EXPECT_TRUE(night.due(moment("2026-03-05T08:00:00Z"), 8h, Zone()));
}

TEST(TaskRound, AsksOnTheDayAndOnceOverARestart) {
  const std::vector<BatchStanding> batches = {
      batch({date(TaskKind::candle, "2026-03-08T22:00:00Z", "Candle: day 7"),
             date(TaskKind::lockdown, "2026-03-19T22:00:00Z", "Lockdown: day 18")})};
  TaskRound round;
  EXPECT_TRUE(round.take(batches, at("2026-03-07T08:00:00Z"), Zone()).empty());
  const auto tasks = round.take(batches, at("2026-03-08T08:00:00Z"), Zone());
  ASSERT_EQ(tasks.size(), 1U);
  EXPECT_EQ(tasks[0].date.what, "Candle: day 7");
  EXPECT_EQ(tasks[0].cabinet, "Setter A");
  TaskRound again;
  again.restore(round.keep());
  EXPECT_EQ(again.last(), round.last());
  EXPECT_TRUE(again.take(batches, at("2026-03-09T08:00:00Z"), Zone()).empty());
  EXPECT_EQ(again.take(batches, at("2026-03-19T08:00:00Z"), Zone()).size(), 1U);
}

TEST(TaskRound, WhatADarkHouseMissedIsAskedForUnlessItIsPast) {
  const std::vector<BatchStanding> batches = {
      batch({date(TaskKind::stop_turning, "2026-03-08T09:00:00Z", "Stop turning: day 18"),
             date(TaskKind::candle, "2026-03-08T09:00:00Z", "Candle: day 18"),
             date(TaskKind::end_batch, "2026-03-01T09:00:00Z", "End the batch")})};
  TaskRound round;
  const auto tasks = round.take(batches, at("2026-03-10T08:00:00Z"), Zone());
  ASSERT_EQ(tasks.size(), 2U);
  EXPECT_EQ(tasks[0].date.kind, TaskKind::end_batch);  // nobody ended it: asked about
  EXPECT_EQ(tasks[1].date.kind, TaskKind::candle);
}

TEST(TaskRound, NeitherDoneNorEndedNorPlannedIsAskedFor) {
  auto done = batch({date(TaskKind::candle, "2026-03-08T09:00:00Z", "Candle: day 7")});
  done.dates[0].done = true;
  auto ended = batch({date(TaskKind::end_batch, "2026-03-08T09:00:00Z", "End the batch")});
  ended.record.ended_at = at("2026-03-07T09:00:00Z");
  auto planned = batch({date(TaskKind::weigh, "2026-03-08T09:00:00Z", "Weigh the eggs: day 0")});
  planned.record.set = false;
  EXPECT_TRUE(TaskRound().take({done, ended, planned}, at("2026-03-08T10:00:00Z"), Zone()).empty());
}

TEST(TaskWords, OneMessageThatIsNoAlarm) {
  Settings settings;
  settings.site = "Saltmere";
  const Zone zone;
  const Manner manner{settings, zone, at("2026-03-08T08:00:00Z")};
  const Notification note = write_tasks(
      {{"hens-12", "Setter A", date(TaskKind::candle, "2026-03-08T22:00:00Z", "Candle: day 7")},
       {"geese-3", "Hatcher", date(TaskKind::end_batch, "2026-03-07T09:00:00Z", "End the batch")}},
      manner);
  EXPECT_EQ(note.first_line, "TO DO Setter A hens-12: Candle: day 7 +1 more");
  EXPECT_EQ(note.urgency, Urgency::low);
  EXPECT_EQ(
      note.message,
      "- Setter A, hens-12: Candle: day 7, 22:00 (when done: clutchward batch candle hens-12)\n"
      "- Hatcher, geese-3: End the batch, 7 Mar 09:00 (still running? Otherwise: clutchward "
      "batch end geese-3)\n"
      "\nThese are tasks, not alarms. What is done already is not asked for.\n");
}

}  // namespace
}  // namespace clutchward
