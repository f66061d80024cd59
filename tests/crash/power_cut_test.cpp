// The ledger on a disk whose power goes at every point: no acknowledged turn is ever lost, and no
// state comes back that was never handed over. The same check must fail where syncs do nothing,
// else it checks nothing.
#include "power_cut.h"

#include <gtest/gtest.h>

#include "store/ledger.h"
#include "workload.h"

namespace clutchward {
namespace {

using testing_disk::Cut;
using testing_disk::Files;
using testing_disk::MemoryDisk;
using testing_disk::Operation;
using testing_disk::PowerCuts;

StoreOptions options(std::size_t files_at_leisure = 4) {
  StoreOptions options;
  options.folder = "/state";
  options.journal_bytes = 6 * 1024;  // a checkpoint every few turns
  options.files_at_leisure = files_at_leisure;
  return options;
}

// Turns 1 to `last` in groups of one to three, checkpoints a step at a time between them.
void run(MemoryDisk& disk, std::uint64_t first, std::uint64_t last,
         const StoreOptions& with = options()) {
  auto start = StateLedger::open(disk, with);
  ASSERT_TRUE(start) << start.why();
  StateLedger& ledger = *start->ledger;
  for (std::uint64_t turn = first; turn <= last;) {
    std::vector<Turn> group;
    for (std::uint64_t size = 1 + turn % 3; size > 0 && turn <= last; --size, ++turn)
      group.push_back({turn, workload::at_of(turn), workload::changes_of(turn)});
    disk.mark(turn - 1, ledger.saved());
    ledger.append(std::move(group));
    disk.mark(turn - 1, ledger.saved());
    if (ledger.checkpoint_running()) ledger.continue_checkpoint();
    if (ledger.checkpoint_due()) ledger.begin_checkpoint();
  }
  for (int tries = 0; tries < 3 && !ledger.retry(); ++tries) continue;
  disk.mark(last, ledger.saved());
  ledger.begin_checkpoint();
  while (ledger.checkpoint_running()) ledger.continue_checkpoint(Checkpointer::Pace::hurry);
}

// "" where the state is right, else what is wrong with it.
std::string wrong(const Cut& cut, const Kept& kept) {
  if (kept.sequence < cut.acknowledged)
    return "turn " + std::to_string(cut.acknowledged) + " was acknowledged, kept up to " +
           std::to_string(kept.sequence);
  if (kept.sequence > cut.attempted) return "a turn from nowhere";
  const Entries expected = workload::entries_after(kept.sequence);
  const Entries found(kept.entries.begin(), kept.entries.end());
  if (found != expected) return "no state that was ever handed over";
  if (!kept.findings.empty()) return "a finding: " + kept.findings[0];
  return "";
}

std::string wrong_after(const Cut& cut, bool twice) {
  MemoryDisk disk(cut.files);
  const auto start = StateLedger::open(disk, options());
  if (!start) return start.why();
  std::string why = wrong(cut, start->kept);
  if (!why.empty() || !twice) return why;
  // And the power goes again while the start repairs what the first cut left.
  PowerCuts again(cut.files);
  again.each(disk.operations, [&](const Cut& second) {
    MemoryDisk other(second.files);
    const auto restart = StateLedger::open(other, options());
    if (!restart) why = restart.why();
    if (restart && why.empty()) why = wrong(cut, restart->kept);
  });
  return why.empty() ? why : "in the second cut: " + why;
}

TEST(PowerCut, LosesNoAcknowledgedTurnAtAnyPoint) {
  MemoryDisk disk;
  run(disk, 1, 24);
  PowerCuts cuts({});
  cuts.each(disk.operations, [](const Cut& cut) { EXPECT_EQ(wrong_after(cut, false), ""); });
  EXPECT_GT(cuts.distinct(), 500U);
  RecordProperty("states", static_cast<int>(cuts.states()));
  RecordProperty("distinct", static_cast<int>(cuts.distinct()));
}

// How many files a step of a checkpoint has decides which journals lie beside which.
class StartCutToo : public ::testing::TestWithParam<std::size_t> {};

TEST_P(StartCutToo, LosesNoAcknowledgedTurn) {
  MemoryDisk disk;
  run(disk, 1, 12, options(GetParam()));
  PowerCuts cuts({});
  cuts.each(disk.operations, [](const Cut& cut) { ASSERT_EQ(wrong_after(cut, true), ""); });
  EXPECT_GT(cuts.distinct(), 500U);
}

INSTANTIATE_TEST_SUITE_P(PowerCut, StartCutToo, ::testing::Values(1, 2, 4),
                         [](const auto& instance) {
                           return std::to_string(instance.param) + "FilesAStep";
                         });

TEST(PowerCut, LosesNoAcknowledgedTurnInASecondRun) {
  MemoryDisk first;
  run(first, 1, 10);
  MemoryDisk second(first.files());
  run(second, 11, 20);
  // Before the second run's first operation all of the first run is durable.
  PowerCuts cuts(first.files());
  second.operations.insert(second.operations.begin(),
                           {Operation::Kind::mark, -1, "", "", "", 10, 10});
  cuts.each(second.operations, [](const Cut& cut) {
    if (cut.attempted == 0) return;
    EXPECT_EQ(wrong_after(cut, false), "");
  });
}

TEST(PowerCut, NoSyncsFailTheSameCheck) {
  MemoryDisk disk;
  disk.ignores_syncs = true;
  run(disk, 1, 6);
  std::size_t lost = 0;
  PowerCuts cuts({});
  cuts.each(disk.operations,
            [&](const Cut& cut) { lost += wrong_after(cut, false).empty() ? 0 : 1; });
  EXPECT_GT(lost, cuts.distinct() / 2);
}

// Each call in turn fails once, with each error; the power goes at every point behind it.
class FailingDisk : public ::testing::TestWithParam<Errno> {};

TEST_P(FailingDisk, LosesNoAcknowledgedTurn) {
  MemoryDisk counting;
  run(counting, 1, 12);
  for (std::size_t nth = 1; nth <= counting.calls; ++nth) {
    MemoryDisk disk;
    std::string failed;
    disk.fault = [&](const std::string& call, const std::string& path) {
      const bool now = disk.calls == nth && call != "lock";
      if (now) failed = call + " of " + path;
      return now ? GetParam() : 0;
    };
    run(disk, 1, 12);
    PowerCuts cuts({});
    std::size_t number = 0;
    cuts.each(disk.operations, [&](const Cut& cut) {
      // A third of the states at each of the calls: the calls differ by one, the states repeat.
      if (number++ % 3 != nth % 3) return;
      const std::string why = wrong_after(cut, false);
      // A journal that could not be removed, and whose sync failed, may be set aside as damaged.
      if (why.starts_with("a finding")) return;
      EXPECT_EQ(why, "") << "call " << nth << ": " << failed << ": " << error_text(GetParam());
    });
    if (HasFailure()) return;
  }
}

TEST_P(FailingDisk, RecoversOnceAllIsWellAgain) {
  MemoryDisk counting;
  run(counting, 1, 12);
  for (std::size_t nth = 1; nth <= counting.calls; ++nth) {
    MemoryDisk disk;
    disk.fault = [&](const std::string& call, const std::string&) {
      // Five calls in a row, so that the first repair fails too.
      return disk.calls >= nth && disk.calls < nth + 5 && call != "lock" && call != "make_folder"
                 ? GetParam()
                 : 0;
    };
    run(disk, 1, 12);
    disk.fault = nullptr;
    MemoryDisk after(disk.files());
    const auto start = StateLedger::open(after, options());
    ASSERT_TRUE(start) << start.why();
    const Cut all{{}, 12, 12};
    std::string why = wrong(all, start->kept);
    EXPECT_TRUE(why.empty() || why.starts_with("a finding")) << "call " << nth << ": " << why;
  }
}

INSTANTIATE_TEST_SUITE_P(PowerCut, FailingDisk, ::testing::Values(EIO, ENOSPC, EINTR),
                         [](const auto& instance) {
                           return std::string(::strerrorname_np(instance.param));
                         });

}  // namespace
}  // namespace clutchward
