// Appending, and what to do when that fails. Opening stands in ledger_open.cpp.
#include "store/ledger.h"

#include <cerrno>

#include "base/limits.h"

namespace clutchward {

bool StateLedger::append(std::vector<Turn> turns) {
  std::string bytes;
  const bool can_append = trouble_.empty() && journal_ >= 0;
  for (Turn& turn : turns) {
    WrittenChanges written;
    for (Change& change : std::exchange(turn.changes, {})) {
      std::optional<Lines> lines;
      if (change.value) lines = lines_of(change.key, *change.value);
      written.emplace_back(std::move(change.key), std::move(lines));
    }
    if (can_append) {
      JournalDocument head = heading(false);
      head.sequence = turn.sequence;
      head.at = turn.at;
      write_journal_document(head, written, bytes);
    }
    merge(turn.sequence, turn.at, std::move(written));
  }
  if (can_append && write_and_sync(bytes)) {
    synced_ = sequence_;
    return true;
  }
  return restart_journal();
}

bool StateLedger::retry() { return trouble_.empty() || restart_journal(); }

JournalDocument StateLedger::heading(bool whole) const {
  JournalDocument head;
  head.sequence = sequence_;
  head.previous = sequence_;
  head.synced = synced_;
  head.at = at_;
  head.whole = whole;
  return head;
}

void StateLedger::merge(std::uint64_t sequence, Wall at, WrittenChanges changes) {
  sequence_ = sequence;
  at_ = at;
  for (auto& [key, lines] : changes) {
    checkpointer_.remember(key, lines);
    unsettled_[std::move(key)] = std::move(lines);
  }
}

bool StateLedger::write_and_sync(const std::string& bytes) {
  Errno error = write_all(disk_, journal_, bytes);
  const char* what = "written";
  if (error == 0) {
    error = disk_.sync(journal_);
    what = "synced";
  }
  if (error == 0) {
    journal_bytes_ += bytes.size();
    return true;
  }
  notes_.push_back(journal_path_ + ": cannot be " + what + ": " + error_text(error) +
                   "; a new journal is begun");
  return false;
}

bool StateLedger::restart_journal() { return restart() == 0; }

Errno StateLedger::restart() {
  if (journal_ >= 0) {
    disk_.close(std::exchange(journal_, -1));
    old_journals_.push_back(journal_path_);
  }
  take_checkpoint_back();
  Errno error = try_restart();
  if ((error == ENOSPC || error == EDQUOT) && give_reserve_back()) error = try_restart();
  if (error == 0) {
    synced_ = sequence_;
    if (!trouble_.empty()) notes_.push_back(places_.folder() + ": the state can be saved again");
    trouble_.clear();
    remove_journals();
    return 0;
  }
  const std::string now = places_.folder() + ": the state cannot be saved: " + error_text(error);
  if (now != trouble_) notes_.push_back(now);
  trouble_ = now;
  return error;
}

Errno StateLedger::try_restart() {
  std::string bytes = journal_head();
  write_whole_document(heading(true), unsettled_, bytes);
  const Opened opened = begin_journal(bytes);
  if (opened.error != 0) return opened.error;
  journal_ = opened.file;
  return 0;
}

// A journal of the next generation with these bytes, durable with its name; or nothing of it.
Opened StateLedger::begin_journal(const std::string& bytes) {
  const Errno made = disk_.make_folder(places_.journals());
  if (made != 0 && made != EEXIST) return {-1, made};
  const std::string path = places_.journal(generation_ + 1);
  const Opened opened = disk_.create(path);
  if (opened.error == EEXIST) {  // a failed one that could not be removed
    ++generation_;
    old_journals_.push_back(path);
  }
  if (opened.error != 0) return opened;
  // From here on the number is taken: a sync that fails may leave anything under it.
  ++generation_;
  Errno error = write_all(disk_, opened.file, bytes);
  if (error == 0) error = disk_.sync(opened.file);
  if (error == 0) error = disk_.sync_folder(places_.journals());
  if (error == 0) error = disk_.sync_folder(places_.folder());
  if (error != 0) {
    disk_.close(opened.file);
    if (disk_.remove(path) != 0) old_journals_.push_back(path);
    return {-1, error};
  }
  journal_path_ = path;
  journal_bytes_ = bytes.size();
  journal_begun_ = at_;
  return opened;
}

void StateLedger::remove_journals() {
  std::vector<std::string> still_there;
  for (const std::string& path : old_journals_) {
    const Errno error = damaged_journals_.count(path) != 0 ? set_aside(path) : disk_.remove(path);
    if (error != 0 && error != ENOENT) still_there.push_back(path);
  }
  old_journals_ = std::move(still_there);
}

bool StateLedger::checkpoint_due() const {
  if (unsettled_.empty() || checkpointer_.running() || !trouble_.empty()) return false;
  const Span age = at_ - journal_begun_;
  // A wall clock that has been set back makes the age negative: that, too, is a time to settle.
  return journal_bytes_ >= options_.journal_bytes || age >= options_.journal_age || age < Span(0);
}

void StateLedger::begin_checkpoint() {
  if (checkpointer_.running() || !trouble_.empty() || journal_ < 0) return;
  const int before = journal_;
  const std::string path = journal_path_;
  std::string bytes = journal_head();
  // An opening document without changes: it carries the turn's number on.
  write_journal_document(heading(false), WrittenChanges{}, bytes);
  const Opened opened = begin_journal(bytes);
  if (opened.error != 0) {
    give_checkpoint_up("no new journal: " + error_text(opened.error));
    restart();
    return;
  }
  disk_.close(before);
  journal_ = opened.file;
  old_journals_.push_back(path);
  checkpointer_.begin(std::exchange(unsettled_, {}), sequence_, at_);
}

void StateLedger::continue_checkpoint(Checkpointer::Pace pace) {
  if (!checkpointer_.running() || !trouble_.empty()) return;
  const Checkpointer::Progress progress = checkpointer_.advance(pace);
  if (progress == Checkpointer::Progress::failed) give_checkpoint_up(checkpointer_.why());
  if (progress == Checkpointer::Progress::done) finish_checkpoint();
}

void StateLedger::give_checkpoint_up(const std::string& why) {
  if (checkpoint_trouble_ != why) notes_.push_back("checkpoint given up for now: " + why);
  checkpoint_trouble_ = why;
  take_checkpoint_back();
}

void StateLedger::take_checkpoint_back() {
  if (!checkpointer_.running()) return;
  // What has come since is newer than what the checkpoint was to hold: merge() keeps it.
  ChangeMap changes = checkpointer_.end();
  unsettled_.merge(changes);
}

void StateLedger::finish_checkpoint() {
  checkpointer_.end();
  checkpoint_trouble_.clear();
  remove_journals();
  if (!has_reserve_) take_reserve();
}

// Out of the way and out of every later start, but there for a look.
Errno StateLedger::set_aside(const std::string& path) {
  constexpr std::string_view kMark = ".damaged-";
  std::size_t number = 1;
  std::string last;
  for (const std::string& file : disk_.files_under(places_.folder())) {
    if (file.find(kMark) == std::string::npos) continue;
    ++number;
    if (file.ends_with(std::string(kMark) + std::to_string(limits::kDamagedFiles))) last = file;
  }
  if (number > limits::kDamagedFiles) {
    number = limits::kDamagedFiles;
    if (!last.empty()) disk_.remove(last);
  }
  return disk_.rename(path, path + std::string(kMark) + std::to_string(number));
}

// A power cut leaves the one before.
bool StateLedger::probe(std::optional<Wall> alive_at) {
  if (!trouble_.empty()) return restart_journal();
  const std::string path = places_.probe();
  disk_.remove(path);
  const Opened opened = disk_.create(path);
  Errno error = opened.error;
  if (error == 0) {
    error = write_all(disk_, opened.file,
                      "# written now and then: the disk takes it, and the watch is alive\n" +
                          (alive_at ? "at: " + to_rfc3339(*alive_at) + "\n" : std::string()));
    if (error == 0) error = disk_.sync(opened.file);
    disk_.close(opened.file);
    if (error != 0 || !alive_at || disk_.rename(path, places_.alive()) != 0) disk_.remove(path);
  }
  if (error == 0) return true;
  notes_.push_back(path + ": cannot be written: " + error_text(error));
  // Whether the journal fares better is what counts.
  return restart_journal();
}

bool StateLedger::give_reserve_back() {
  if (!has_reserve_) return false;
  has_reserve_ = false;
  notes_.push_back(places_.folder() + ": the disk is full; the reserve is given up to go on");
  return disk_.remove(places_.reserve()) == 0;
}

void StateLedger::take_reserve() {
  const std::string path = places_.reserve();
  disk_.remove(path);
  const Opened opened = disk_.create(path);
  if (opened.error != 0) return;
  Errno error = disk_.reserve(opened.file, options_.reserve_bytes);
  if (error == 0) error = disk_.sync(opened.file);
  disk_.close(opened.file);
  has_reserve_ = error == 0;
  if (!has_reserve_) disk_.remove(path);
}

}  // namespace clutchward
