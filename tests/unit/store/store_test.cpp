// The store's thread on the machine's own file system, and on a disk in memory that fails.
#include "store/store.h"

#include <gtest/gtest.h>
#include <poll.h>
#include <stdlib.h>
#include <sys/resource.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>

#include "../../crash/memory_disk.h"
#include "../../crash/workload.h"
#include "base/limits.h"
#include "store/real_files.h"

namespace clutchward {
namespace {

class StoreTest : public ::testing::Test {
 protected:
  StoreTest() {
    char name[] = "/tmp/store-test-XXXXXX";
    root_ = ::mkdtemp(name);
  }
  ~StoreTest() override { std::filesystem::remove_all(root_); }

  StoreOptions options() const {
    StoreOptions options;
    options.folder = root_ + "/lib/state";
    return options;
  }
  Store::Start open() {
    auto start = Store::open(disk_, options());
    EXPECT_TRUE(start) << start.why();
    return std::move(*start);
  }
  static void submit(Store& store, std::uint64_t turn) {
    store.submit(turn, workload::at_of(turn), workload::changes_of(turn));
  }
  // False where a minute passes without it: a hung test, not a slow one.
  template <class Condition>
  static bool wait_for(Store& store, Condition condition) {
    for (int i = 0; i < 600 && !condition(); ++i) {
      pollfd event{store.event(), POLLIN, 0};
      ::poll(&event, 1, 100);
      std::uint64_t count = 0;
      [[maybe_unused]] const ssize_t got = ::read(store.event(), &count, sizeof count);
    }
    return condition();
  }
  static Entries entries(const Kept& kept) { return {kept.entries.begin(), kept.entries.end()}; }

  std::string root_;
  RealFiles disk_;
};

TEST_F(StoreTest, SavesAndTellsAndReadsBack) {
  {
    const auto start = open();
    for (std::uint64_t n = 1; n <= 200; ++n) submit(*start.store, n);
    EXPECT_TRUE(wait_for(*start.store, [&] { return start.store->saved() == 200; }));
    EXPECT_TRUE(start.store->status().writable);
    EXPECT_EQ(start.store->status().waiting, 0U);
    EXPECT_GT(start.store->status().proofs, 0U);
  }
  const auto next = open();
  EXPECT_EQ(entries(next.kept), workload::entries_after(200));
  EXPECT_EQ(next.kept.sequence, 200U);
  EXPECT_TRUE(next.kept.findings.empty());
  next.store->stop();
  // Stopped: all of it stands in the kept files, one journal without changes beside them.
  std::size_t journals = 0;
  for (const auto& entry : std::filesystem::directory_iterator(options().folder + "/journal")) {
    std::ifstream file(entry.path());
    const std::string text(std::istreambuf_iterator<char>(file), {});
    EXPECT_EQ(text.find("\nset:"), std::string::npos);
    ++journals;
  }
  EXPECT_EQ(journals, 1U);
}

TEST_F(StoreTest, StopSavesWhatWaits) {
  auto start = open();
  for (std::uint64_t n = 1; n <= 50; ++n) submit(*start.store, n);
  start.store->stop();
  EXPECT_EQ(start.store->saved(), 50U);
  EXPECT_EQ(entries(open().kept), workload::entries_after(50));
}

TEST_F(StoreTest, TwoDaemonsNeverShareAFolder) {
  const auto first = open();
  const auto second = Store::open(disk_, options());
  ASSERT_FALSE(second);
  EXPECT_EQ(second.why(),
            options().folder + ": in use by another daemon, expected a state folder for each");
}

TEST_F(StoreTest, RefusesAFileWhereTheFolderShouldBe) {
  std::ofstream(root_ + "/lib") << "a file";
  const auto start = Store::open(disk_, options());
  ASSERT_FALSE(start);
  EXPECT_EQ(start.why(), options().folder + ": cannot be made: Not a directory (ENOTDIR)");
  auto other = options();
  other.folder = root_ + "/lib";
  const auto on_file = Store::open(disk_, other);
  ASSERT_FALSE(on_file);
  EXPECT_EQ(on_file.why(), root_ + "/lib: found something else, expected a folder");
}

TEST_F(StoreTest, AHandEditedFileLoads) {
  {
    const auto start = open();
    start.store->submit(1, workload::at_of(1),
                        {{"cabinets/setter-a", Tree::map().add("day", "18")}});
  }
  const std::string path = options().folder + "/kept/cabinets/setter-a.yaml";
  std::ifstream file(path);
  std::string text;
  for (std::string line; std::getline(file, line);) {
    if (line.starts_with("checksum:")) continue;
    if (line.find("day:") != std::string::npos) line = "    day: 19 # Mara";
    text += line + "\r\n";
  }
  std::ofstream(path) << text;
  const auto start = open();
  EXPECT_TRUE(start.kept.findings.empty());
  EXPECT_EQ(entries(start.kept).at("cabinets/setter-a").get("day"), "19");
}

TEST_F(StoreTest, AFileSizeLimitIsAnErrorAndNoDeath) {
  const auto start = open();
  rlimit before{};
  ASSERT_EQ(::getrlimit(RLIMIT_FSIZE, &before), 0);
  const rlimit small{64 * 1024, before.rlim_max};
  ASSERT_EQ(::setrlimit(RLIMIT_FSIZE, &small), 0);
  start.store->submit(1, workload::at_of(1), {{"note", Tree(std::string(100'000, 'x'))}});
  EXPECT_TRUE(wait_for(*start.store, [&] { return !start.store->status().writable; }));
  EXPECT_EQ(start.store->status().trouble,
            options().folder + ": the state cannot be saved: File too large (EFBIG)");
  ASSERT_EQ(::setrlimit(RLIMIT_FSIZE, &before), 0);
  EXPECT_TRUE(wait_for(*start.store, [&] { return start.store->saved() == 1; }));
  EXPECT_TRUE(start.store->status().writable);
}

TEST_F(StoreTest, AProbeProvesThatTheStateCanBeWritten) {
  const auto start = open();
  const auto proofs = [&] { return start.store->status().proofs; };
  const std::uint64_t before = proofs();
  start.store->probe(std::nullopt);
  EXPECT_TRUE(wait_for(*start.store, [&] { return proofs() >= before + 1; }));
  EXPECT_FALSE(std::filesystem::exists(options().folder + "/probe"));
}

TEST_F(StoreTest, TheLastProbeSaysAtTheNextStartWhenTheWatchWasAlive) {
  EXPECT_FALSE(open().kept.alive_at);
  for (const Wall at : {workload::at_of(7), workload::at_of(9)}) {
    const auto start = open();
    const std::uint64_t before = start.store->status().proofs;
    start.store->probe(at);
    EXPECT_TRUE(wait_for(*start.store, [&] { return start.store->status().proofs > before; }));
  }
  EXPECT_EQ(open().kept.alive_at, workload::at_of(9));
  std::ofstream(options().folder + "/alive") << "at: half past\n";
  EXPECT_FALSE(open().kept.alive_at);
}

TEST(StoreOnAFailingDisk, NeverWaitsAndGathersWhatItCannotSave) {
  testing_disk::MemoryDisk disk;
  std::atomic<bool> broken = false;
  disk.fault = [&](const std::string& call, const std::string&) {
    return broken && call == "sync" ? EIO : 0;
  };
  StoreOptions options;
  options.folder = "/s";
  auto start = Store::open(disk, options);
  ASSERT_TRUE(start) << start.why();
  Store& store = *start->store;
  broken = true;
  const std::uint64_t last = 3 * limits::kWaitingTurns;
  std::size_t most = 0;
  for (std::uint64_t n = 1; n <= last; ++n) {
    store.submit(n, workload::at_of(n), workload::changes_of(n));
    most = std::max(most, store.status().waiting);
  }
  EXPECT_LE(most, limits::kWaitingTurns);
  EXPECT_EQ(store.saved(), 0U);
  broken = false;
  store.stop();
  EXPECT_EQ(store.saved(), last);
  const auto again = StateLedger::open(disk, options);
  ASSERT_TRUE(again) << again.why();
  EXPECT_EQ(Entries(again->kept.entries.begin(), again->kept.entries.end()),
            workload::entries_after(last));
}

}  // namespace
}  // namespace clutchward
