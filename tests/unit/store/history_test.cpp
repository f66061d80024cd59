// The history's file and its thread, on the machine's own file system.
#include "store/history.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <poll.h>
#include <sqlite3.h>
#include <stdlib.h>
#include <sys/stat.h>

#include <filesystem>
#include <fstream>
#include <functional>
#include <mutex>
#include <thread>

#include "store/history_reader.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

constexpr Wall kNow{1772352000000ms};  // 2026-03-01T08:00:00Z
constexpr std::int64_t kMinute = 1772352000000 / 60000;

HistoryMinute minute(std::int64_t after, Milli low, Milli mean, Milli high, std::int64_t count) {
  return {kMinute + after, "setter-a", "top", "temperature", low, mean, high, count};
}

class HistoryTest : public ::testing::Test {
 protected:
  HistoryTest() {
    char name[] = "/tmp/history-test-XXXXXX";
    root_ = ::mkdtemp(name);
    path_ = root_ + "/history.db";
  }
  ~HistoryTest() override { std::filesystem::remove_all(root_); }

  std::vector<HistoryMinute> minutes(const HistoryQuestion& question = {}) const {
    HistoryFile file;
    const auto bad = file.open(path_, HistoryFile::For::reading);
    EXPECT_FALSE(bad) << bad->why;
    std::vector<HistoryMinute> rows;
    EXPECT_FALSE(file.minutes(question, [&](const HistoryMinute& row) {
      rows.push_back(row);
      return true;
    }));
    return rows;
  }
  // What the thread does is seen, not told; a real disk may take its time.
  static void until(const std::function<bool()>& done) {
    for (int i = 0; i < 3000 && !done(); ++i) std::this_thread::sleep_for(10ms);
  }
  void write(const HistoryRows& rows) const {
    HistoryFile file;
    ASSERT_FALSE(file.open(path_, HistoryFile::For::writing));
    ASSERT_FALSE(file.write(rows));
  }

  std::string root_;
  std::string path_;
};

TEST_F(HistoryTest, WhatIsWrittenIsReadBackInOrderOfTime) {
  HistoryRows rows;
  rows.minutes = {minute(1, 37'400, 37'500, 37'600, 6), minute(0, 37'300, 37'400, 37'500, 6)};
  rows.events = {{kNow, "setter-a", "hens-12", R"({"event":"raised"})"}};
  rows.records = {{"hens-12", R"({"id":"hens-12","eggs":48})"}};
  write(rows);
  EXPECT_THAT(minutes(), ::testing::ElementsAre(rows.minutes[1], rows.minutes[0]));
  HistoryFile file;
  ASSERT_FALSE(file.open(path_, HistoryFile::For::reading));
  std::vector<HistoryRecord> records;
  ASSERT_FALSE(file.records(records));
  EXPECT_EQ(records, rows.records);
  std::vector<HistoryEvent> events;
  ASSERT_FALSE(file.events({}, [&](const HistoryEvent& row) {
    events.push_back(row);
    return true;
  }));
  EXPECT_EQ(events, rows.events);
}

TEST_F(HistoryTest, AMinuteInTwoPartsIsAddedUp) {
  HistoryRows rows;
  rows.minutes = {minute(0, 37'000, 37'000, 37'100, 1), minute(0, 37'200, 37'300, 37'400, 3)};
  write(rows);
  EXPECT_THAT(minutes(), ::testing::ElementsAre(minute(0, 37'000, 37'225, 37'400, 4)));
}

TEST_F(HistoryTest, ARecordIsReplacedWhole) {
  HistoryRows rows;
  rows.records = {{"hens-12", "{\"eggs\":48}"}};
  write(rows);
  rows.records = {{"hens-12", "{\"eggs\":47}"}};
  write(rows);
  HistoryFile file;
  ASSERT_FALSE(file.open(path_, HistoryFile::For::reading));
  std::vector<HistoryRecord> records;
  ASSERT_FALSE(file.records(records));
  EXPECT_EQ(records, rows.records);
}

TEST_F(HistoryTest, QuestionsAreBoundedByTimePlaceAndQuantity) {
  HistoryRows rows;
  for (int i = 0; i < 4; ++i) rows.minutes.push_back(minute(i, 1, 1, 1, 1));
  rows.minutes.push_back({kMinute, "setter-b", "top", "humidity", 1, 1, 1, 1});
  write(rows);
  HistoryQuestion question;
  question.from = kNow + 1min;
  question.to = kNow + 3min;
  EXPECT_EQ(minutes(question).size(), 2U);
  question = {};
  question.cabinet = "setter-b";
  EXPECT_EQ(minutes(question).size(), 1U);
  question = {};
  question.quantity = "temperature";
  EXPECT_EQ(minutes(question).size(), 4U);
  question.probe = "low";
  EXPECT_EQ(minutes(question).size(), 0U);
}

TEST_F(HistoryTest, WhatIsOlderThanAskedIsForgottenAndRecordsStay) {
  HistoryRows rows;
  rows.minutes = {minute(-61, 1, 1, 1, 1), minute(0, 2, 2, 2, 1)};
  rows.events = {{kNow - 1h, "setter-a", "", "{}"}};
  rows.records = {{"hens-12", "{}"}};
  write(rows);
  HistoryFile file;
  ASSERT_FALSE(file.open(path_, HistoryFile::For::writing));
  ASSERT_FALSE(file.forget_before(kNow));
  std::vector<HistoryRecord> records;
  ASSERT_FALSE(file.records(records));
  EXPECT_EQ(records.size(), 1U);
  EXPECT_THAT(minutes(), ::testing::ElementsAre(rows.minutes[1]));
}

// The day's first commit forgets; what it cannot do then it tries again with the next.
TEST_F(HistoryTest, TheThreadForgetsOnceADayAndTriesAgainWhereItCannot) {
  HistoryRows rows;
  rows.minutes = {minute(-48 * 60, 1, 1, 1, 1), minute(-12 * 60, 1, 1, 1, 1)};
  rows.events = {{kNow - 48h, "setter-a", "", "{}"}};
  write(rows);
  // A trigger stands for a card that takes new rows and fails at the old ones.
  sqlite3* other = nullptr;
  ASSERT_EQ(sqlite3_open(path_.c_str(), &other), SQLITE_OK);
  ASSERT_EQ(sqlite3_exec(other,
                         "create trigger t before delete on event begin "
                         "select raise(abort, 'the card is worn'); end",
                         nullptr, nullptr, nullptr),
            SQLITE_OK);
  HistoryOptions options{path_, 24h, 20ms};
  History history(options);
  const auto add = [&](std::int64_t after, Wall now) {
    HistoryRows more;
    more.minutes = {minute(after, 2, 2, 2, 1)};
    history.add(more, now);
    until([&] { return minutes().back().minute == kMinute + after; });
  };
  add(0, kNow);
  until([&] { return !history.trouble().empty(); });
  EXPECT_EQ(history.trouble(), path_ + ": old minutes cannot be forgotten: the card is worn");
  EXPECT_EQ(minutes().size(), 3U);  // nothing forgotten by halves, nothing written twice
  ASSERT_EQ(sqlite3_exec(other, "drop trigger t", nullptr, nullptr, nullptr), SQLITE_OK);
  sqlite3_close(other);
  add(1, kNow + 1min);
  until([&] { return history.trouble().empty(); });
  EXPECT_EQ(history.trouble(), "");
  EXPECT_THAT(minutes(), ::testing::ElementsAre(rows.minutes[1], minute(0, 2, 2, 2, 1),
                                                minute(1, 2, 2, 2, 1)));
  // A day is kept: the older of the two goes a day later, not before.
  add(23 * 60, kNow + 23h);
  EXPECT_EQ(minutes().size(), 4U);
  add(25 * 60, kNow + 25h + 1min);
  history.stop();
  // An hour more than asked, at most, since a pack may reach so far.
  EXPECT_THAT(minutes(), ::testing::ElementsAre(minute(1, 2, 2, 2, 1), minute(23 * 60, 2, 2, 2, 1),
                                                minute(25 * 60, 2, 2, 2, 1)));
}

TEST_F(HistoryTest, MinutesOfManyCommitsComeInOrder) {
  for (const std::int64_t start : {0, 10, 5, 200, 130}) {  // a clock set back, two long gaps
    HistoryRows rows;
    for (std::int64_t at = start + 9; at >= start; --at)
      for (const char* probe : {"top", "low"})
        rows.minutes.push_back({kMinute + at, "setter-a", probe, "temperature", 1, 2, 3, 1});
    write(rows);
  }
  std::vector<std::pair<std::int64_t, std::string>> found, expected;
  for (const HistoryMinute& each : minutes()) {
    found.emplace_back(each.minute - kMinute, each.probe);
    EXPECT_EQ(each.count, found.back().first >= 5 && found.back().first < 15 ? 2 : 1);
  }
  for (const auto& [from, to] : {std::pair(0, 20), {130, 140}, {200, 210}})
    for (int at = from; at < to; ++at) {
      expected.emplace_back(at, "low");
      expected.emplace_back(at, "top");
    }
  EXPECT_EQ(found, expected);
}

// What a program of the first version wrote: a row a minute, the schedule inside the record.
TEST_F(HistoryTest, AFileOfTheVersionBeforeIsTakenOver) {
  sqlite3* old = nullptr;
  ASSERT_EQ(sqlite3_open(path_.c_str(), &old), SQLITE_OK);
  const std::string sql = R"(
create table series (id integer primary key, cabinet text not null, probe text not null,
  quantity text not null, unique (cabinet, probe, quantity));
create table minute (minute integer not null, series integer not null, low integer not null,
  mean integer not null, high integer not null, count integer not null,
  primary key (minute, series)) without rowid;
create table event (id integer primary key, at integer not null, cabinet text not null,
  batch text not null, json text not null);
create table batch (id text primary key, json text not null) without rowid;
insert into series values (7, 'setter-a', 'top', 'temperature');
insert into batch values ('hens-12', '{"eggs":48,"schedule":{"stages":[]}}'), ('geese', '{}');
pragma user_version = 1;
insert into minute select value, 7, 1, 2, 3, 4 from (
  with recursive c(value) as (select )" +
                          std::to_string(kMinute) + R"( union all
  select value + 1 from c limit 200) select value from c);)";
  ASSERT_EQ(sqlite3_exec(old, sql.c_str(), nullptr, nullptr, nullptr), SQLITE_OK)
      << sqlite3_errmsg(old);
  sqlite3_close(old);
  HistoryFile file;
  const auto why = file.open(path_, HistoryFile::For::reading);
  ASSERT_TRUE(why);
  EXPECT_EQ(why->why, path_ +
                          ": version 1 found, 3 expected: the daemon makes that of it at its "
                          "next start");
  write({});
  const auto rows = minutes();
  ASSERT_EQ(rows.size(), 200U);
  for (int i = 0; i < 200; ++i) EXPECT_EQ(rows[i], minute(i, 1, 2, 3, 4));
  ASSERT_FALSE(file.open(path_, HistoryFile::For::reading));
  std::vector<HistoryRecord> records;
  ASSERT_FALSE(file.records(records));
  ASSERT_EQ(records.size(), 2U);
  EXPECT_EQ(records[0].schedule, "");
  EXPECT_EQ(records[1].schedule, R"({"stages":[]})");
}

HistoryTold told(std::uint64_t number, Span after, const char* contact = "mara") {
  HistoryTold row;
  row.at = kNow + after;
  row.number = number;
  row.contact = contact;
  row.way = "email";
  row.urgency = "high";
  row.sort = "raised";
  row.cabinet = "setter-a";
  row.batch = "hens-12";
  row.alarm = "high";
  row.episode = "7";
  row.first_line = "TOO HOT 39.6 C Setter A";
  row.alarms = R"([["setter-a","hens-12","high","raised",1772352000000]])";
  return row;
}

std::vector<HistoryTold> told_in(const std::string& path, const HistoryQuestion& question = {}) {
  HistoryFile file;
  EXPECT_FALSE(file.open(path, HistoryFile::For::reading));
  std::vector<HistoryTold> rows;
  EXPECT_FALSE(file.told(question, [&](const HistoryTold& row) {
    rows.push_back(row);
    return true;
  }));
  return rows;
}

std::optional<Wall> told_from(const std::string& path) {
  HistoryFile file;
  EXPECT_FALSE(file.open(path, HistoryFile::For::reading));
  std::optional<Wall> from;
  EXPECT_FALSE(file.told_from(from));
  return from;
}

// What a program of the second version wrote: all but who was told.
TEST_F(HistoryTest, AFileThatDidNotKeepWhoWasToldIsReadAndThenTakenOver) {
  sqlite3* old = nullptr;
  ASSERT_EQ(sqlite3_open(path_.c_str(), &old), SQLITE_OK);
  // One minute of a pack as that version packed it: nothing of it has changed since.
  HistoryRows rows;
  rows.minutes = {minute(0, 37'300, 37'400, 37'500, 6), minute(1, 37'400, 37'500, 37'600, 6)};
  rows.events = {{kNow, "setter-a", "hens-12", R"({"event":"raised"})"}};
  rows.records = {{"hens-12", R"({"id":"hens-12"})", R"({"stages":[]})"}};
  write(rows);
  ASSERT_EQ(sqlite3_exec(old, "drop table told; drop table mark; pragma user_version = 2;", nullptr,
                         nullptr, nullptr),
            SQLITE_OK)
      << sqlite3_errmsg(old);
  sqlite3_close(old);
  EXPECT_EQ(minutes(), rows.minutes);
  EXPECT_TRUE(told_in(path_).empty());
  EXPECT_FALSE(told_from(path_));
  HistoryRows more;
  more.told = {told(17, 2min)};
  more.told_from = kNow + 1min;
  write(more);
  EXPECT_EQ(minutes(), rows.minutes);
  EXPECT_EQ(told_in(path_), more.told);
  EXPECT_EQ(told_from(path_), kNow + 1min);
  HistoryFile file;
  ASSERT_FALSE(file.open(path_, HistoryFile::For::reading));
  std::vector<HistoryRecord> records;
  ASSERT_FALSE(file.records(records));
  EXPECT_EQ(records, rows.records);
  std::vector<HistoryEvent> events;
  ASSERT_FALSE(file.events({}, [&](const HistoryEvent& row) {
    events.push_back(row);
    return true;
  }));
  EXPECT_EQ(events, rows.events);
}

TEST_F(HistoryTest, AMessageIsOneRowHoweverOftenItGoesAndIsDeliveredLater) {
  HistoryRows rows;
  rows.told = {told(18, 1min, "joss"), told(17, 1min)};
  rows.told_from = kNow;
  write(rows);
  EXPECT_EQ(told_in(path_), (std::vector{rows.told[1], rows.told[0]}));
  // The first is delivered a while later, the second goes out again after a restart.
  HistoryTold delivered;
  delivered.at = kNow + 1min;
  delivered.number = 18;
  delivered.delivered_at = kNow + 3min;
  HistoryTold again = told(17, 1min);
  again.delivered_at = kNow + 4min;
  HistoryRows more;
  more.told = {delivered, again};
  more.told_from = kNow + 2min;  // another start: kept since the first all the same
  write(more);
  const auto found = told_in(path_);
  ASSERT_EQ(found.size(), 2U);
  EXPECT_EQ(found[0], again);
  EXPECT_EQ(found[1].contact, "joss");
  EXPECT_EQ(found[1].delivered_at, kNow + 3min);
  EXPECT_EQ(told_from(path_), kNow);
  // Once more without a word of its delivery: what was known stays.
  HistoryRows last;
  last.told = {told(17, 1min)};
  write(last);
  EXPECT_EQ(told_in(path_)[0], again);
}

TEST_F(HistoryTest, WhoWasToldIsAskedByTimeAndPlaceAndForgottenWithTheEvents) {
  HistoryRows rows;
  rows.told = {told(1, -2h), told(2, 0s), told(3, 1h)};
  rows.told[2].cabinet = "setter-b";
  write(rows);
  EXPECT_EQ(told_from(path_), kNow - 2h);  // nobody said since when: the first row does
  HistoryQuestion question;
  question.from = kNow - 1h;
  question.to = kNow + 1h;
  EXPECT_THAT(told_in(path_, question), ::testing::ElementsAre(rows.told[1]));
  question = {};
  question.cabinet = "setter-b";
  EXPECT_THAT(told_in(path_, question), ::testing::ElementsAre(rows.told[2]));
  HistoryFile file;
  ASSERT_FALSE(file.open(path_, HistoryFile::For::writing));
  ASSERT_FALSE(file.forget_before(kNow));
  EXPECT_THAT(told_in(path_), ::testing::ElementsAre(rows.told[1], rows.told[2]));
}

// A reader without the right to write into the folder, after the daemon has stopped: there is no
// log to take part in. Nothing to see for root, who may write anywhere.
TEST_F(HistoryTest, AFileThatStandsStillIsReadWithoutTheRightToWrite) {
  HistoryRows rows;
  rows.minutes = {minute(0, 1, 2, 3, 4)};
  write(rows);
  EXPECT_FALSE(std::filesystem::exists(path_ + "-wal"));
  std::filesystem::permissions(root_, std::filesystem::perms(0555));
  EXPECT_EQ(minutes(), rows.minutes);
  std::filesystem::permissions(root_, std::filesystem::perms(0755));
}

TEST_F(HistoryTest, AScheduleStaysWhereItIsSaidToAndARecordIsFoundByItsBatch) {
  HistoryRows rows;
  rows.records = {{"hens-12", "{\"eggs\":48}", "{\"stages\":[1]}", true}};
  write(rows);
  rows.records = {{"hens-12", "{\"eggs\":47}", "{\"stages\":[2]}", true}};
  write(rows);
  const auto found = [&] {
    HistoryFile file;
    std::optional<HistoryRecord> record;
    EXPECT_FALSE(file.open(path_, HistoryFile::For::reading));
    EXPECT_FALSE(file.record("hens-12", record));
    return record.value_or(HistoryRecord{});
  };
  EXPECT_EQ(found(), (HistoryRecord{"hens-12", "{\"eggs\":47}", "{\"stages\":[1]}"}));
  rows.records[0].schedule_stays = false;
  write(rows);
  EXPECT_EQ(found().schedule, "{\"stages\":[2]}");
  HistoryFile file;
  std::optional<HistoryRecord> none;
  ASSERT_FALSE(file.open(path_, HistoryFile::For::reading));
  EXPECT_FALSE(file.record("hens-1", none));
  EXPECT_FALSE(none);
}

TEST_F(HistoryTest, RecordsAreToldOnceTheyAreCommitted) {
  History history({path_, 24h, 1h});
  HistoryRows rows;
  rows.records = {{"hens-12", "{}"}, {"geese", "{}"}};
  history.add(rows, kNow);
  EXPECT_TRUE(history.take_kept().empty());
  history.stop();
  EXPECT_THAT(history.take_kept(), ::testing::ElementsAre("hens-12", "geese"));
  EXPECT_TRUE(history.take_kept().empty());
}

TEST_F(HistoryTest, AnotherFileIsRefusedPlainly) {
  std::ofstream(path_) << std::string(5000, 'x');
  HistoryFile file;
  const auto why = file.open(path_, HistoryFile::For::reading);
  ASSERT_TRUE(why);
  EXPECT_TRUE(why->damaged);
  EXPECT_EQ(why->why, path_ + ": cannot be read: file is not a database");
}

TEST_F(HistoryTest, TheThreadCommitsWhatWaitsWhenItStops) {
  History history({path_, 24h, 1h});
  HistoryRows rows;
  rows.minutes = {minute(0, 1, 2, 3, 4)};
  history.add(rows, kNow);
  history.stop();
  EXPECT_EQ(history.trouble(), "");
  EXPECT_EQ(minutes(), rows.minutes);
}

TEST_F(HistoryTest, ADamagedFileIsSetAsideAndToldAndANewOneBegun) {
  std::ofstream(path_) << std::string(5000, 'x');
  History history({path_, 24h, 1h});
  HistoryRows rows;
  rows.minutes = {minute(0, 1, 2, 3, 4)};
  history.add(rows, kNow);
  history.stop();
  EXPECT_EQ(minutes(), rows.minutes);
  EXPECT_TRUE(std::filesystem::exists(path_ + ".damaged-1"));
  EXPECT_THAT(history.take_notes(),
              ::testing::ElementsAre(path_ + ": damaged; it lies as " + path_ +
                                     ".damaged-1, and a new history is begun"));
}

// A folder in the file's place stands for a disk that will not take it; root may write anywhere.
TEST_F(HistoryTest, RowsWaitForADiskThatFails) {
  std::filesystem::create_directory(path_);
  History history({path_, 24h, 20ms});
  HistoryRows rows;
  rows.minutes = {minute(0, 1, 2, 3, 4)};
  history.add(rows, kNow);
  until([&] { return !history.trouble().empty(); });
  EXPECT_EQ(history.trouble(), path_ + ": cannot be opened: unable to open database file");
  std::filesystem::remove(path_);
  until([&] { return history.trouble().empty(); });
  history.stop();
  EXPECT_EQ(history.trouble(), "");
  EXPECT_EQ(minutes(), rows.minutes);
  EXPECT_EQ(history.lost_rows(), 0U);
}

TEST_F(HistoryTest, TheOldestGoWhereTheDiskFailsForLongAndThatIsTold) {
  std::filesystem::create_directory(path_);
  HistoryOptions options{path_, 24h, 20ms};
  options.most_waiting = 5;
  History history(options);
  HistoryRows rows;
  for (int i = 0; i < 7; ++i) rows.minutes.push_back(minute(i, 1, 2, 3, 4));
  rows.records = {{"hens-12", "{}"}};
  history.add(rows, kNow);
  until([&] { return history.lost_rows() > 0; });
  EXPECT_EQ(history.lost_rows(), 4U);
  EXPECT_THAT(history.take_notes(),
              ::testing::Contains(path_ + ": 4 rows are lost so far, the oldest of those that "
                                          "waited"));
  std::filesystem::remove(path_);
  until([&] { return history.trouble().empty(); });
  history.stop();
  EXPECT_EQ(history.trouble(), "");
  EXPECT_THAT(minutes(), ::testing::ElementsAre(rows.minutes[4], rows.minutes[5], rows.minutes[6]));
}

// One cabinet's minutes cost by their number, not by that of the cabinets beside it; every second
// one is enough where there are too many.
TEST_F(HistoryTest, MinutesOfOneCabinetAndEveryOtherOfThem) {
  HistoryRows rows;
  for (int i = 0; i < 10; ++i) {
    rows.minutes.push_back(minute(i, 37'400, 37'500 + i, 37'600, 6));
    rows.minutes.push_back({kMinute + i, "setter-b", "top", "temperature", 1, 1, 1, 1});
    rows.minutes.push_back({kMinute + i, "setter-a", "lid", "humidity", 55'000, 55'000, 55'000, 1});
  }
  write(rows);
  HistoryFile file;
  ASSERT_FALSE(file.open(path_, HistoryFile::For::reading));
  const auto taken = [&](const char* quantity, std::int64_t every) {
    HistoryQuestion question;
    question.cabinet = "setter-a";
    question.quantity = quantity;
    question.from = kNow + 2min;
    question.to = kNow + 8min;
    std::vector<std::int64_t> found;
    EXPECT_FALSE(file.minutes_of(question, every, [&](const HistoryMinute& row) {
      EXPECT_EQ(row.cabinet, "setter-a");
      found.push_back(row.minute - kMinute);
      return true;
    }));
    return found;
  };
  EXPECT_THAT(taken("temperature", 1), ::testing::UnorderedElementsAre(2, 3, 4, 5, 6, 7));
  EXPECT_THAT(taken("temperature", 4), ::testing::UnorderedElementsAre(2, 6));
  EXPECT_EQ(taken("", 1).size(), 12U);
  EXPECT_TRUE(taken("wet_bulb", 1).empty());
}

TEST_F(HistoryTest, WhatWaitsCanBeSeenBeforeItIsCommitted) {
  HistoryOptions options;
  options.path = path_;
  options.keep = 24h;
  History history(options);
  HistoryRows rows;
  rows.minutes = {minute(0, 1, 2, 3, 1), {kMinute, "setter-b", "top", "temperature", 1, 1, 1, 1}};
  rows.events = {{kNow, "setter-a", "", "{}"}};
  history.add(rows, kNow);
  const HistoryRows waiting = history.waiting_of({"setter-a"});
  EXPECT_THAT(waiting.minutes, ::testing::ElementsAre(rows.minutes[0]));
  EXPECT_EQ(waiting.events, rows.events);
  EXPECT_EQ(history.waiting_of({"setter-c"}).size(), 0U);
  history.stop();
  EXPECT_EQ(history.waiting_of({"setter-a"}).size(), 0U);
  EXPECT_EQ(minutes().size(), 2U);
}

TEST_F(HistoryTest, ReaderAnswersInALaterTurnAndTakesFewAtOnce) {
  HistoryReader reader(path_);
  const auto turn = [&] {
    pollfd wait{reader.descriptor(), POLLIN, 0};
    EXPECT_EQ(::poll(&wait, 1, 20'000), 1);
    reader.turn();
  };
  std::string why = "?";
  bool told = false;
  ASSERT_TRUE(reader.ask(
      [&](const HistoryFile* file, const std::string& trouble) {
        EXPECT_EQ(file, nullptr);
        why = trouble;
      },
      [&] { told = true; }));
  turn();
  EXPECT_TRUE(told);
  EXPECT_EQ(why, "") << "that nothing has been committed yet is no trouble";
  // There is one now: it is found without being told.
  HistoryRows rows;
  rows.minutes = {minute(0, 1, 2, 3, 1)};
  write(rows);
  std::mutex gate;
  gate.lock();
  std::size_t seen = 0;
  std::size_t done = 0;
  std::size_t asked = 0;
  while (reader.ask(
      [&](const HistoryFile* file, const std::string&) {
        const std::lock_guard wait(gate);
        if (file != nullptr) ++seen;
      },
      [&] { ++done; }))
    ++asked;
  EXPECT_EQ(asked, limits::kHistoryQuestions);
  gate.unlock();
  while (done < asked) turn();
  EXPECT_EQ(seen, asked);
}

TEST_F(HistoryTest, ReaderSaysWhyAFileCannotBeRead) {
  const std::string other = path_ + ".txt";
  std::ofstream(other) << "no history at all, but longer than the head of one: "
                       << std::string(200, '-');
  HistoryReader reader(other);
  std::string why;
  ASSERT_TRUE(
      reader.ask([&](const HistoryFile*, const std::string& trouble) { why = trouble; }, [] {}));
  pollfd wait{reader.descriptor(), POLLIN, 0};
  EXPECT_EQ(::poll(&wait, 1, 20'000), 1);
  reader.turn();
  EXPECT_THAT(why, ::testing::HasSubstr("cannot be"));
}

}  // namespace
}  // namespace clutchward
