// Dates in a batch's life: exact over clock changes, stable in their numbers, marked once done.
#include "cabinet/batch_dates.h"

#include <gtest/gtest.h>

#include <map>
#include <set>

namespace clutchward {
namespace {

using namespace std::chrono_literals;

Stage stage(const std::string& name, double day, std::optional<Span> turn, Milli from, Milli to) {
  Stage made;
  made.name = name;
  made.from = Span{static_cast<std::int64_t>(day * 86'400'000)};
  made.target = 37'500;
  made.turn_every = turn;
  made.humidity = HumidityBand{from, to};
  return made;
}

Profile goose() {
  Profile made;
  made.id = "goose";
  made.days = 30;
  made.hatch = DayWindow{28, 34};
  made.pip = DayWindow{27.5, 29.5};
  made.candling = {10, 24};
  made.transfer_day = 27;
  made.mass_loss = MassLossWanted{27, 11, 13};
  made.stages = {stage("setting", 0, 1h, 55'000, 63'000), stage("settling", 25, {}, 55'000, 63'000),
                 stage("lockdown", 27, {}, 70'000, 82'000)};
  return made;
}

Wall at(const char* text) { return *parse_rfc3339(text); }

const Wall kSet = at("2026-03-01T08:00:00Z");

BatchRecord running() {
  BatchRecord record;
  record.id = "geese-3";
  record.set_at = kSet;
  record.set = true;
  record.stages = {{kSet, "setting"}};
  return record;
}

std::optional<BatchDate> find(const std::vector<BatchDate>& dates, TaskKind kind, int number = 1) {
  for (const BatchDate& date : dates)
    if (date.kind == kind && date.number == number) return date;
  return std::nullopt;
}

TEST(BatchDates, AreAllThereInOrderEachWithANumberOfItsOwn) {
  const auto dates = dates_of(goose(), kSet);
  std::set<std::pair<TaskKind, int>> seen;
  for (std::size_t i = 0; i < dates.size(); ++i) {
    EXPECT_TRUE(seen.insert({dates[i].kind, dates[i].number}).second) << dates[i].what;
    if (i > 0) {
      EXPECT_LE(dates[i - 1].from, dates[i].from);
    }
    EXPECT_LE(dates[i].from, dates[i].to);
  }
  EXPECT_EQ(find(dates, TaskKind::candle, 1)->from, kSet + 240h);
  EXPECT_EQ(find(dates, TaskKind::candle, 2)->what, "Candle: day 24");
  EXPECT_EQ(find(dates, TaskKind::stop_turning)->from, kSet + 25 * 24h);
  EXPECT_EQ(find(dates, TaskKind::raise_humidity)->what, "Raise the humidity to 70-82 %: day 27");
  EXPECT_EQ(find(dates, TaskKind::lockdown)->from, kSet + 27 * 24h);
  EXPECT_EQ(find(dates, TaskKind::transfer)->from, kSet + 27 * 24h);
  EXPECT_EQ(find(dates, TaskKind::pip)->from, kSet + 27 * 24h + 12h);
  EXPECT_EQ(find(dates, TaskKind::hatch)->to, kSet + 34 * 24h);
  EXPECT_EQ(find(dates, TaskKind::end_batch)->from, kSet + 36 * 24h);
  // Weekly, and once more at lockdown.
  for (const auto& [number, day] : std::map<int, int>{{1, 0}, {2, 7}, {3, 14}, {4, 21}, {5, 27}})
    EXPECT_EQ(find(dates, TaskKind::weigh, number)->from, kSet + day * 24h);
  EXPECT_FALSE(find(dates, TaskKind::weigh, 6));
}

TEST(BatchDates, WhatWasDoneIsMarked) {
  BatchRecord record = running();
  record.candlings.push_back({kSet + 9 * 24h, {}, "mara", ""});  // a day early counts
  record.weighings.push_back({kSet, 2000, 14, "mara"});
  const auto dates = dates_of(goose(), record);
  EXPECT_TRUE(find(dates, TaskKind::candle, 1)->done);
  EXPECT_FALSE(find(dates, TaskKind::candle, 2)->done);
  EXPECT_TRUE(find(dates, TaskKind::weigh, 1)->done);
  EXPECT_FALSE(find(dates, TaskKind::weigh, 2)->done);
  EXPECT_FALSE(find(dates, TaskKind::transfer)->done);
  record.moves.push_back({kSet + 27 * 24h, "setter", "hatcher", "mara"});
  EXPECT_TRUE(find(dates_of(goose(), record), TaskKind::transfer)->done);
  record.ended_at = kSet + 31 * 24h;
  for (const BatchDate& date : dates_of(goose(), record)) EXPECT_TRUE(date.done) << date.what;
  // Nobody is asked about them any more; that does not make them deeds.
  const auto ended = dates_of(goose(), record);
  EXPECT_TRUE(find(ended, TaskKind::candle, 1)->recorded);
  EXPECT_FALSE(find(ended, TaskKind::candle, 2)->recorded);
  EXPECT_FALSE(find(ended, TaskKind::hatch)->recorded);
}

// An hour for each day of storage past the seventh (Hatchery Signals, an excerpt, seen; shared
// reference, check 21: ten days, three hours).
TEST(BatchDates, LongStorageDelaysTheHatchAndNothingElse) {
  BatchRecord record = running();
  record.stored_days = 10;
  const auto dates = dates_of(goose(), record);
  EXPECT_EQ(find(dates, TaskKind::hatch)->from, kSet + 28 * 24h + 3h);
  EXPECT_EQ(find(dates, TaskKind::pip)->from, kSet + 27 * 24h + 15h);
  EXPECT_EQ(find(dates, TaskKind::lockdown)->from, kSet + 27 * 24h);
  record.stored_days = 7;
  EXPECT_EQ(find(dates_of(goose(), record), TaskKind::hatch)->from, kSet + 28 * 24h);
}

TEST(BatchDates, TheNextOneIsNeitherDoneNorLongPast) {
  BatchRecord record = running();
  EXPECT_EQ(next_date(goose(), record, kSet)->kind, TaskKind::weigh);
  EXPECT_EQ(next_date(goose(), record, kSet + 4 * 24h)->number, 2);  // the first was let pass
  record.weighings.push_back({kSet + 7 * 24h, 1950, 14, "mara"});
  EXPECT_EQ(next_date(goose(), record, kSet + 8 * 24h)->kind, TaskKind::candle);
  EXPECT_EQ(next_date(goose(), record, kSet + 90 * 24h)->kind, TaskKind::end_batch);
  record.ended_at = kSet + 31 * 24h;
  EXPECT_EQ(next_date(goose(), record, kSet + 90 * 24h), std::nullopt);
}

TEST(BatchDates, PhasesFollowStagesAndDays) {
  BatchRecord record = running();
  EXPECT_EQ(phase_of(goose(), record, kSet + 3 * 24h), Phase::set);
  record.stages.push_back({kSet + 25 * 24h, "settling"});
  EXPECT_EQ(phase_of(goose(), record, kSet + 26 * 24h), Phase::set);
  record.stages.push_back({kSet + 26 * 24h, "lockdown"});
  EXPECT_EQ(phase_of(goose(), record, kSet + 26 * 24h), Phase::lockdown);
  EXPECT_EQ(phase_of(goose(), record, kSet + 28 * 24h), Phase::hatching);
  EXPECT_EQ(phase_of(goose(), record, kSet + 34 * 24h + 1ms), Phase::overdue);
  record.ended_at = kSet;
  EXPECT_EQ(phase_of(goose(), record, kSet), Phase::ended);
  record = {};
  EXPECT_EQ(phase_of(goose(), record, kSet), Phase::planned);
}

TEST(BatchRecords, CountWhatIsLeft) {
  BatchRecord record = running();
  record.eggs = 48;
  record.candlings.push_back({kSet, {{Fate::infertile, 3}, {Fate::dead_early, 1}}, "mara", ""});
  record.outcome = {{Fate::hatched, 40}, {Fate::dead_late, 2}};
  EXPECT_EQ(record.eggs_left(), 2);
  EXPECT_EQ(fate_named("pipped"), Fate::pipped);
  EXPECT_EQ(fate_named("piped"), std::nullopt);
}

}  // namespace
}  // namespace clutchward
