// The ledger's starts and failures, on a disk in memory.
#include "store/ledger.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "../../crash/memory_disk.h"
#include "../../crash/workload.h"
#include "base/limits.h"
#include "store/checksum.h"

namespace clutchward {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using testing_disk::Files;
using testing_disk::MemoryDisk;

const std::string kFirst = "/s/journal/00000001.yaml";

StoreOptions options() {
  StoreOptions options;
  options.folder = "/s";
  return options;
}

Turn turn(std::uint64_t n) { return {n, workload::at_of(n), workload::changes_of(n)}; }

StateLedger::Start opened(FileSystem& disk) {
  auto start = StateLedger::open(disk, options());
  EXPECT_TRUE(start) << start.why();
  return std::move(*start);
}

void append(StateLedger& ledger, std::uint64_t first, std::uint64_t last) {
  for (std::uint64_t n = first; n <= last; ++n) {
    std::vector<Turn> turns;
    turns.push_back(turn(n));
    EXPECT_TRUE(ledger.append(std::move(turns))) << ledger.trouble();
  }
}

void settle(StateLedger& ledger) {
  ledger.begin_checkpoint();
  while (ledger.checkpoint_running()) ledger.continue_checkpoint();
  EXPECT_EQ(ledger.checkpoint_trouble(), "");
}

Entries entries(const Kept& kept) { return {kept.entries.begin(), kept.entries.end()}; }

TEST(Ledger, AnEmptyFolderIsAnEmptyState) {
  MemoryDisk disk;
  const auto start = opened(disk);
  EXPECT_TRUE(start.kept.entries.empty());
  EXPECT_EQ(start.kept.sequence, 0U);
  EXPECT_TRUE(start.kept.findings.empty());
  EXPECT_TRUE(start.ledger->has_reserve());
  EXPECT_EQ(disk.at("/s/reserve").size(), options().reserve_bytes);
}

TEST(Ledger, KeepsTurnsWithAndWithoutACheckpoint) {
  MemoryDisk disk;
  append(*opened(disk).ledger, 1, 7);
  const auto second = opened(disk);
  EXPECT_EQ(entries(second.kept), workload::entries_after(7));
  EXPECT_EQ(second.kept.saved_at, workload::at_of(7));
  append(*second.ledger, 8, 9);
  settle(*second.ledger);
  EXPECT_FALSE(second.ledger->has_unsettled());
  EXPECT_TRUE(disk.has("/s/kept/cabinets/setter-1.yaml"));
  EXPECT_TRUE(disk.has("/s/kept/outbox/all.yaml"));
  EXPECT_FALSE(disk.has("/s/kept/outbox/9.yaml"));
  append(*second.ledger, 10, 11);
  const auto third = opened(disk);
  EXPECT_EQ(entries(third.kept), workload::entries_after(11));
  EXPECT_EQ(third.kept.sequence, 11U);
}

TEST(Ledger, TheTurnsNumberOutlivesTheLastKey) {
  MemoryDisk disk;
  const auto start = opened(disk);
  append(*start.ledger, 1, 1);
  std::vector<Turn> last(1);
  last[0] = {2, workload::at_of(2), {}};
  for (const auto& [key, value] : workload::entries_after(1))
    last[0].changes.push_back({key, std::nullopt});
  EXPECT_TRUE(start.ledger->append(std::move(last)));
  settle(*start.ledger);
  const auto next = opened(disk);
  EXPECT_TRUE(next.kept.entries.empty());
  EXPECT_EQ(next.kept.sequence, 2U);
}

TEST(Ledger, OnlyWhatChangedIsWritten) {
  MemoryDisk disk;
  const auto start = opened(disk);
  append(*start.ledger, 1, 9);
  settle(*start.ledger);
  const std::size_t before = disk.operations.size();
  std::vector<Turn> turns(1);
  turns[0] = {10, workload::at_of(10), {{"alarms/1", Tree("x")}}};
  EXPECT_TRUE(start.ledger->append(std::move(turns)));
  EXPECT_EQ(disk.operations.size(), before + 2);  // one write, one sync
  EXPECT_LT(disk.operations[before].bytes.size(), 250U);
  settle(*start.ledger);
  std::vector<std::string> made;
  for (std::size_t i = before; i < disk.operations.size(); ++i)
    if (disk.operations[i].kind == testing_disk::Operation::Kind::create)
      made.push_back(disk.operations[i].path);
  EXPECT_THAT(made, ElementsAre("/s/journal/00000003.yaml", "/s/kept/alarms/1.yaml.tmp"));
}

TEST(Ledger, ATornEndIsNoFinding) {
  MemoryDisk disk;
  append(*opened(disk).ledger, 1, 7);
  Files files = disk.files();
  std::string& journal = files[kFirst];
  const std::string whole = journal;
  const std::size_t last = journal.rfind("---\n");
  for (const std::size_t size : {last + 1, last + 30, whole.size() - 1}) {
    journal = whole.substr(0, size);
    MemoryDisk torn(files);
    const auto start = opened(torn);
    EXPECT_EQ(start.kept.sequence, 6U);
    EXPECT_EQ(entries(start.kept), workload::entries_after(6));
    EXPECT_TRUE(start.kept.findings.empty());
  }
}

TEST(Ledger, ADamagedMiddleIsSetAsideAndSaid) {
  MemoryDisk disk;
  append(*opened(disk).ledger, 1, 7);
  Files files = disk.files();
  files[kFirst][files[kFirst].find("sequence: \"4\"") + 11] = '5';
  MemoryDisk damaged(files);
  {
    const auto start = opened(damaged);
    EXPECT_EQ(entries(start.kept), workload::entries_after(3));
    EXPECT_THAT(
        start.kept.findings,
        ElementsAre(HasSubstr("kept what comes before it (up to turn 3), nothing behind it")));
    EXPECT_EQ(damaged.at(kFirst + ".damaged-1"), files[kFirst]);
    EXPECT_FALSE(damaged.has(kFirst));
  }
  // And the next start is well.
  const auto again = opened(damaged);
  EXPECT_EQ(entries(again.kept), workload::entries_after(3));
  EXPECT_TRUE(again.kept.findings.empty());
}

TEST(Ledger, AMissingDocumentIsDamage) {
  MemoryDisk disk;
  append(*opened(disk).ledger, 1, 7);
  Files files = disk.files();
  std::string& journal = files[kFirst];
  const std::size_t from = journal.rfind("---\n", journal.find("sequence: \"4\""));
  const std::size_t to = journal.rfind("---\n", journal.find("sequence: \"5\""));
  journal.erase(from, to - from);
  MemoryDisk damaged(files);
  const auto start = opened(damaged);
  EXPECT_EQ(entries(start.kept), workload::entries_after(3));
  EXPECT_THAT(start.kept.findings, ElementsAre(HasSubstr("a document is missing before it")));
}

// A start removes the old journals together, and a power cut takes any of them: what is missing
// between two of them is no loss where the start's own journal holds it all.
TEST(Ledger, AMissingJournalIsDamageUnlessAWholeOneComesBehind) {
  const auto journal = [](std::uint64_t sequence, bool whole) {
    JournalDocument head;
    head.sequence = sequence;
    head.previous = head.synced = sequence - 1;
    head.whole = whole;
    std::string bytes = journal_head();
    write_journal_document(head, workload::changes_of(sequence), bytes);
    return bytes;
  };
  Files files{{kFirst, journal(1, false)}, {"/s/journal/00000003.yaml", journal(5, false)}};
  {
    MemoryDisk damaged(files);
    const auto start = opened(damaged);
    EXPECT_EQ(start.kept.sequence, 1U);
    EXPECT_THAT(
        start.kept.findings,
        ElementsAre(HasSubstr("(follows turn 4, found turn 1); kept what comes before it")));
    EXPECT_TRUE(damaged.has("/s/journal/00000003.yaml.damaged-1"));
  }
  files["/s/journal/00000004.yaml"] = journal(6, true);
  MemoryDisk cut(files);
  const auto start = opened(cut);
  EXPECT_EQ(start.kept.sequence, 6U);
  EXPECT_TRUE(start.kept.findings.empty());
}

TEST(Ledger, ADamagedCheckpointCostsItsKeyAlone) {
  MemoryDisk disk;
  {
    const auto start = opened(disk);
    append(*start.ledger, 1, 9);
    settle(*start.ledger);
  }
  Files files = disk.files();
  const std::string path = "/s/kept/cabinets/setter-1.yaml";
  files[path][files[path].size() - 3] = '!';
  files["/s/kept/cabinets/copy.yaml"] = files["/s/kept/cabinets/setter-2.yaml"];
  files["/s/kept/cabinets/setter-2.yaml.tmp"] = "half a fi";
  files["/s/kept/cabinets/setter-2.yaml~"] = "an editor's";
  MemoryDisk damaged(files);
  const auto start = opened(damaged);
  Entries expected = workload::entries_after(9);
  expected.erase("cabinets/setter-1");
  EXPECT_EQ(entries(start.kept), expected);
  EXPECT_THAT(start.kept.findings,
              ElementsAre("/s/kept/cabinets/copy.yaml: holds the key \"cabinets/setter-2\", whose "
                          "file is /s/kept/cabinets/setter-2.yaml",
                          path + ": the checksum does not match: damaged, or edited without "
                                 "deleting the line \"checksum: ...\""));
  EXPECT_TRUE(damaged.has("/s/kept/cabinets/copy.yaml.damaged-1"));
  EXPECT_EQ(damaged.at(path + ".damaged-2"), files[path]);
  EXPECT_FALSE(damaged.has("/s/kept/cabinets/setter-2.yaml.tmp"));
  EXPECT_TRUE(damaged.has("/s/kept/cabinets/setter-2.yaml~"));
}

TEST(Ledger, AnotherFormatIsSetAside) {
  JournalDocument head;
  head.sequence = 3;
  std::string journal;
  write_journal_document(head, WrittenChanges{}, journal);
  // The same document with another version and a right checksum.
  std::string body = journal.substr(journal.find("format"));
  body = body.substr(0, body.size() - 4);
  body.replace(body.find('1'), 1, "2");
  MemoryDisk disk(
      Files{{kFirst, "---\nchecksum: \"" + checksum_text(crc32c(body)) + "\"\n" + body + "...\n"}});
  const auto start = opened(disk);
  EXPECT_THAT(start.kept.findings,
              ElementsAre(kFirst + ": the document at byte 0: format: found \"2\", expected \"1\" "
                                   "(written by another version of the daemon?); kept what comes "
                                   "before it (up to no turn), nothing behind it"));
  EXPECT_TRUE(disk.has(kFirst + ".damaged-1"));
}

TEST(Ledger, DamagedFilesAreBounded) {
  MemoryDisk disk;
  for (int i = 0; i < 30; ++i) {
    disk.put("/s/kept/x" + std::to_string(i) + ".yaml", "rotten " + std::to_string(i));
    opened(disk);
  }
  std::size_t count = 0;
  for (const auto& [path, bytes] : disk.files())
    count += path.find(".damaged-") != std::string::npos;
  EXPECT_EQ(count, limits::kDamagedFiles);
  EXPECT_EQ(disk.at("/s/kept/x0.yaml.damaged-1"), "rotten 0");
  EXPECT_EQ(disk.at("/s/kept/x29.yaml.damaged-20"), "rotten 29");
}

TEST(Ledger, RefusesAFolderThatItCannotUse) {
  const auto refusal = [](Errno error, const std::string& at) {
    MemoryDisk disk;
    disk.fault = [=](const std::string& call, const std::string&) {
      return call == at ? error : 0;
    };
    const auto start = StateLedger::open(disk, options());
    return start ? std::string() : start.why();
  };
  EXPECT_EQ(refusal(EWOULDBLOCK, "lock"),
            "/s: in use by another daemon, expected a state folder for each");
  EXPECT_EQ(refusal(ENOTDIR, "lock"), "/s: found something else, expected a folder");
  EXPECT_EQ(refusal(EACCES, "lock"),
            "/s: not writable, expected a folder to keep the state in: Permission denied (EACCES)");
  EXPECT_EQ(refusal(EACCES, "create"),
            "/s: not writable, expected a folder to keep the state in: Permission denied (EACCES)");
  EXPECT_EQ(refusal(EACCES, "make_folder"), "/s: cannot be made: Permission denied (EACCES)");
}

TEST(Ledger, ReadsTheStateOfADiskThatTurnedReadOnly) {
  MemoryDisk disk;
  append(*opened(disk).ledger, 1, 7);
  disk.fault = [](const std::string& call, const std::string&) {
    return call == "read" || call == "lock" ? 0 : EROFS;
  };
  const auto start = opened(disk);
  EXPECT_EQ(entries(start.kept), workload::entries_after(7));
  EXPECT_EQ(start.ledger->trouble(),
            "/s: the state cannot be saved: Read-only file system (EROFS)");
}

TEST(Ledger, ASyncThatFailedIsNeverTriedAgain) {
  MemoryDisk disk;
  const auto start = opened(disk);
  append(*start.ledger, 1, 3);
  std::vector<std::string> synced;
  disk.fault = [&](const std::string& call, const std::string& path) {
    if (call != "sync") return 0;
    synced.push_back(path);
    return synced.size() == 1 ? EIO : 0;
  };
  append(*start.ledger, 4, 4);  // true: the new journal took it
  EXPECT_THAT(synced, ElementsAre(kFirst, "/s/journal/00000002.yaml"));
  EXPECT_FALSE(disk.has(kFirst));
  EXPECT_THAT(
      start.ledger->take_notes(),
      ElementsAre(kFirst + ": cannot be synced: Input/output error (EIO); a new journal is begun"));
  EXPECT_EQ(entries(opened(disk).kept), workload::entries_after(4));
}

TEST(Ledger, KeepsAllInMemoryUntilTheDiskIsWellAgain) {
  MemoryDisk disk;
  const auto start = opened(disk);
  append(*start.ledger, 1, 3);
  disk.fault = [](const std::string& call, const std::string&) { return call == "sync" ? EIO : 0; };
  for (std::uint64_t n = 4; n <= 6; ++n) {
    std::vector<Turn> turns;
    turns.push_back(turn(n));
    EXPECT_FALSE(start.ledger->append(std::move(turns)));
  }
  EXPECT_EQ(start.ledger->saved(), 3U);
  EXPECT_EQ(start.ledger->trouble(), "/s: the state cannot be saved: Input/output error (EIO)");
  EXPECT_FALSE(start.ledger->probe(std::nullopt));
  EXPECT_FALSE(start.ledger->retry());
  disk.fault = nullptr;
  start.ledger->take_notes();
  EXPECT_TRUE(start.ledger->retry());
  EXPECT_EQ(start.ledger->saved(), 6U);
  EXPECT_EQ(start.ledger->trouble(), "");
  EXPECT_THAT(start.ledger->take_notes(), ElementsAre("/s: the state can be saved again"));
  EXPECT_EQ(entries(opened(disk).kept), workload::entries_after(6));
}

TEST(Ledger, AFullDiskGetsTheReserve) {
  MemoryDisk disk;
  const auto start = opened(disk);
  append(*start.ledger, 1, 3);
  std::size_t used = 0;
  for (const auto& [path, bytes] : disk.files()) used += bytes.size();
  disk.room = used + 10;  // the next write is short, the one after it finds no room
  append(*start.ledger, 4, 40);
  EXPECT_FALSE(start.ledger->has_reserve());
  EXPECT_FALSE(disk.has("/s/reserve"));
  EXPECT_EQ(start.ledger->saved(), 40U);
  disk.room = static_cast<std::size_t>(-1);
  settle(*start.ledger);
  EXPECT_TRUE(start.ledger->has_reserve());
  EXPECT_EQ(entries(opened(disk).kept), workload::entries_after(40));
}

TEST(Ledger, ShortWritesAreGoneOnWith) {
  MemoryDisk disk;
  disk.piece = 7;
  const auto start = opened(disk);
  append(*start.ledger, 1, 5);
  settle(*start.ledger);
  EXPECT_EQ(entries(opened(disk).kept), workload::entries_after(5));
}

TEST(Ledger, ACheckpointThatFailsLosesNothing) {
  MemoryDisk disk;
  const auto start = opened(disk);
  append(*start.ledger, 1, 5);
  disk.fault = [](const std::string& call, const std::string& path) {
    return call == "rename" && path.ends_with("setter-1.yaml.tmp") ? EIO : 0;
  };
  start.ledger->begin_checkpoint();
  append(*start.ledger, 6, 6);
  while (start.ledger->checkpoint_running()) start.ledger->continue_checkpoint();
  EXPECT_EQ(start.ledger->checkpoint_trouble(),
            "/s/kept/cabinets/setter-1.yaml.tmp: cannot be renamed: Input/output error (EIO)");
  append(*start.ledger, 7, 7);
  {
    MemoryDisk copy(disk.files());
    EXPECT_EQ(entries(opened(copy).kept), workload::entries_after(7));
  }
  disk.fault = nullptr;
  settle(*start.ledger);
  EXPECT_EQ(entries(opened(disk).kept), workload::entries_after(7));
  EXPECT_FALSE(disk.has("/s/kept/cabinets/setter-1.yaml.tmp"));
}

TEST(Ledger, ACheckpointIsDueBySizeByAgeAndWhenTheClockWentBack) {
  MemoryDisk disk;
  auto start = opened(disk);
  const auto append_at = [&](std::uint64_t n, Span later, std::string text) {
    std::vector<Turn> turns(1);
    turns[0] = {n, workload::at_of(0) + later, {{"note", Tree(std::move(text))}}};
    EXPECT_TRUE(start.ledger->append(std::move(turns)));
    const bool due = start.ledger->checkpoint_due();
    if (due) settle(*start.ledger);
    return due;
  };
  append_at(1, Span(0), "");  // from the epoch to now
  EXPECT_FALSE(append_at(2, std::chrono::minutes(59), "x"));
  EXPECT_TRUE(append_at(3, std::chrono::minutes(60), "x"));
  EXPECT_FALSE(append_at(4, std::chrono::minutes(61), std::string(1000 * 1000, 'x')));
  EXPECT_TRUE(append_at(5, std::chrono::minutes(61), std::string(60 * 1000, 'x')));
  EXPECT_TRUE(append_at(6, std::chrono::minutes(30), "x"));
}

}  // namespace
}  // namespace clutchward
