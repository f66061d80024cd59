// The state on the disk, one call at a time: appends turns to the journal, makes checkpoints of it,
// begins a new journal when the disk has failed. All calls come from one thread and wait for the
// disk; store.h puts that thread around it. It never syncs a file a second time whose sync has
// failed, and never deletes a journal before all it says stands elsewhere on the medium.
#pragma once

#include <cstdint>
#include <memory>
#include <set>
#include <string>
#include <vector>

#include "store/checkpointer.h"
#include "store/document.h"
#include "store/file_system.h"
#include "store/place.h"
#include "store/recovery.h"

namespace clutchward {

struct StoreOptions {
  std::string folder;
  // A checkpoint is due once the journal has grown by this much (about 2,500 alarms) or spans this
  // much wall time: an hour keeps what a start must read through, and what a person sees in the
  // folder is at most that old.
  std::size_t journal_bytes = 1024 * 1024;
  Span journal_age = std::chrono::hours(1);
  // Many small things that come and go: a file for each would cost two syncs to make and one to
  // remove again, where all of them together fit one file written once a checkpoint.
  std::vector<std::string> grouped = {"commands", "outbox", "replies"};
  // Taken from the disk ahead and given back when it runs full, so that an acknowledgement can
  // still be kept (reference: reserve 1 to 4 MiB).
  std::size_t reserve_bytes = 1024 * 1024;
  // At leisure a turn waits for so many files of a checkpoint at most: where a card takes a tenth
  // of a second for a sync (reference, durability on SD cards), under half a second.
  std::size_t files_at_leisure = 4;
};

struct Kept {
  std::vector<std::pair<std::string, Tree>> entries;  // by key, ascending
  Wall saved_at{};               // of the last turn kept; the epoch where there was none
  std::optional<Wall> alive_at;  // as the last probe said
  std::uint64_t sequence = 0;    // of the last turn kept; the next one must be greater
  std::vector<std::string> findings;
};

class StateLedger {
 public:
  struct Start {
    std::unique_ptr<StateLedger> ledger;
    Kept kept;
  };

  // Takes the folder for this process (made where it is missing), reads it, sets damaged files
  // aside and begins a new journal. A Refusal where it is no folder, may not be written or is in
  // use. A disk that is full, broken or read-only is no refusal: the state is read and trouble()
  // says the rest.
  static Result<Start> open(FileSystem& disk, StoreOptions options);
  ~StateLedger();
  StateLedger(const StateLedger&) = delete;
  StateLedger& operator=(const StateLedger&) = delete;

  // Makes the turns durable, in order. False: they are kept in memory; trouble() says why, and
  // retry() or the next append() tries again with everything.
  bool append(std::vector<Turn> turns);
  bool retry();

  // The last turn on the medium.
  std::uint64_t saved() const { return synced_; }
  // "" while turns can be saved; else what failed, in words.
  const std::string& trouble() const { return trouble_; }
  // What went wrong in making checkpoints, or "": turns are saved, but the journal grows.
  const std::string& checkpoint_trouble() const { return checkpoint_trouble_; }
  bool has_reserve() const { return has_reserve_; }

  // Writes and syncs a small file, so that a quiet hour does not hide a broken disk.
  bool probe(std::optional<Wall> alive_at);

  bool checkpoint_due() const;
  bool checkpoint_running() const { return checkpointer_.running(); }
  // Begins a checkpoint of everything appended so far; nothing to do while one is running.
  void begin_checkpoint();
  // A few files' worth of it, so that turns that come in meanwhile wait no longer than that; in a
  // hurry (at the end, when none come in) many.
  void continue_checkpoint(Checkpointer::Pace pace = Checkpointer::Pace::leisure);
  bool has_unsettled() const { return !unsettled_.empty() || checkpointer_.running(); }

  // What to tell to the log, oldest first; each is told once.
  std::vector<std::string> take_notes() { return std::exchange(notes_, {}); }

 private:
  StateLedger(FileSystem& disk, StoreOptions options, int lock);

  void merge(std::uint64_t sequence, Wall at, WrittenChanges changes);
  bool write_and_sync(const std::string& bytes);
  // Begins a new journal that holds everything unsettled; the old ones go once it is durable.
  bool restart_journal();
  Errno restart();
  Errno try_restart();
  Opened begin_journal(const std::string& bytes);
  JournalDocument heading(bool whole) const;
  void remove_journals();
  void give_checkpoint_up(const std::string& why);
  void take_checkpoint_back();
  void finish_checkpoint();
  Errno set_aside(const std::string& path);
  void take_reserve();
  bool give_reserve_back();

  FileSystem& disk_;
  StoreOptions options_;
  Places places_;
  int lock_ = -1;

  int journal_ = -1;
  std::string journal_path_;
  std::uint64_t generation_ = 0;            // the highest number used
  std::vector<std::string> old_journals_;   // all journal files but the present one
  std::set<std::string> damaged_journals_;  // those of them to set aside rather than remove
  std::size_t journal_bytes_ = 0;
  Wall journal_begun_{};

  std::uint64_t sequence_ = 0;  // last appended
  std::uint64_t synced_ = 0;    // last on the medium
  Wall at_{};
  ChangeMap unsettled_;
  Checkpointer checkpointer_;

  bool has_reserve_ = false;
  std::string trouble_;
  std::string checkpoint_trouble_;
  std::vector<std::string> notes_;
};

}  // namespace clutchward
