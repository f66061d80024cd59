// Records of batches that ended leave the memory: which, when, and what is then still known.
#include <gtest/gtest.h>

#include "base/limits.h"
#include "bench.h"

namespace clutchward {
namespace {

using namespace bench;

constexpr int kMost = static_cast<int>(limits::kFinishedRecords);

class Finished : public testing::Test {
 protected:
  Moment at(Span after) const { return {Steady{500'000ms} + after, kStart + after, true}; }
  static std::string id(int number) { return "hens-" + std::to_string(1000 + number); }
  Reply tell(Deed deed, const std::string& batch) {
    Command command;
    command.by = "mara";
    command.deed = deed;
    command.batch = batch;
    command.cabinet = "b";
    command.profile = "bench";
    if (deed == Deed::batch_correct) command.note = "late";
    now += 1min;
    return engine->command(command, false, at(now));
  }
  void live(int from, int to) {
    for (int i = from; i < to; ++i) {
      EXPECT_TRUE(tell(Deed::batch_start, id(i)).ok);
      EXPECT_TRUE(tell(Deed::batch_end, id(i)).ok);
    }
  }
  int records() const { return static_cast<int>(engine->records().size()) - 1; }  // hens run on
  void restart() {
    kept.take(*engine);
    engine = std::make_unique<Engine>(settings(), Zone(), at(now), true);
    engine->keep_minutes(true);
    EXPECT_TRUE(engine->restore(kept.all(), kStart + now).empty());
    engine->begin();
  }
  int kept_records() {
    kept.take(*engine);
    int count = 0;
    for (const auto& [key, unused] : kept.all()) count += key.starts_with("records/hens-1");
    return count;
  }

  std::unique_ptr<Engine> engine = [this] {
    auto made = std::make_unique<Engine>(settings(), Zone(), at(0h), true);
    made->begin();
    return made;
  }();
  Kept kept;
  Span now{0};
};

TEST_F(Finished, WithoutAHistoryTheOldestGo) {
  live(0, kMost);
  EXPECT_EQ(records(), kMost);
  live(kMost, kMost + 3);
  EXPECT_EQ(records(), kMost);
  EXPECT_FALSE(engine->record(id(2)));
  EXPECT_TRUE(engine->record(id(3)));
  EXPECT_EQ(kept_records(), kMost);  // nor does the state keep them
  // What has been is still known.
  EXPECT_EQ(tell(Deed::batch_start, id(0)).why,
            "batch \"" + id(0) + "\" has been and ended: give a new id");
  EXPECT_EQ(tell(Deed::batch_correct, id(0)).why,
            "batch \"" + id(0) + "\" has ended, and so many after it that its record is closed");
  EXPECT_TRUE(tell(Deed::batch_correct, id(3)).ok);
}

TEST_F(Finished, WithAHistoryTheyWaitUntilItHasThem) {
  engine->keep_minutes(true);
  live(0, kMost + 5);
  EXPECT_EQ(records(), kMost + 5);
  engine->record_is_kept(id(4));
  EXPECT_FALSE(engine->record(id(4)));
  engine->record_is_kept(id(kMost));
  engine->record_is_kept(id(7));
  EXPECT_FALSE(engine->record(id(kMost)));  // the oldest that may go, at once
  EXPECT_FALSE(engine->record(id(7)));
  EXPECT_EQ(records(), kMost + 2);
  // Corrected: the history has it no more as it is.
  for (int i = 10; i < 20; ++i) EXPECT_TRUE(tell(Deed::batch_correct, id(i)).ok);
  restart();
  EXPECT_EQ(records(), kMost + 2);
  EXPECT_EQ(kept_records(), kMost + 2);
  for (int i = 0; i < kMost + 5; ++i) engine->record_is_kept(id(i));
  EXPECT_EQ(records(), kMost);
  EXPECT_EQ(kept_records(), kMost);
}

TEST_F(Finished, ACorrectionMustReachTheHistoryAnew) {
  engine->keep_minutes(true);
  live(0, kMost);
  engine->record_is_kept(id(0));
  EXPECT_TRUE(tell(Deed::batch_correct, id(0)).ok);
  live(kMost, kMost + 1);
  EXPECT_TRUE(engine->record(id(0)));
  engine->record_is_kept(id(0));
  EXPECT_FALSE(engine->record(id(0)));
}

TEST_F(Finished, AHistoryThatFailsForLongDoesNotFillTheMemory) {
  engine->keep_minutes(true);
  live(0, 2 * kMost + 10);
  EXPECT_EQ(records(), 2 * kMost);
  EXPECT_FALSE(engine->record(id(9)));
  EXPECT_TRUE(engine->record(id(10)));
}

}  // namespace
}  // namespace clutchward
