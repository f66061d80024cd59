// The history's file and its thread, on the machine's own file system.
#include "store/history.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <poll.h>
#include <stdlib.h>
#include <sys/stat.h>

#include <filesystem>
#include <fstream>
#include <mutex>

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
  rows.minutes = {minute(-60, 1, 1, 1, 1), minute(0, 2, 2, 2, 1)};
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
  for (int i = 0; i < 200 && history.trouble().empty(); ++i) std::this_thread::sleep_for(10ms);
  EXPECT_EQ(history.trouble(), path_ + ": cannot be opened: unable to open database file");
  std::filesystem::remove(path_);
  for (int i = 0; i < 200 && !history.trouble().empty(); ++i) std::this_thread::sleep_for(10ms);
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
  for (int i = 0; i < 200 && history.lost_rows() == 0; ++i) std::this_thread::sleep_for(10ms);
  EXPECT_EQ(history.lost_rows(), 4U);
  EXPECT_THAT(history.take_notes(),
              ::testing::Contains(path_ + ": 4 rows are lost so far, the oldest of those that "
                                          "waited"));
  std::filesystem::remove(path_);
  for (int i = 0; i < 200 && !history.trouble().empty(); ++i) std::this_thread::sleep_for(10ms);
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
  EXPECT_THAT(why, ::testing::HasSubstr("cannot be"));
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

}  // namespace
}  // namespace clutchward
