// Opening the state folder: take it, read it, set damaged files aside, begin a new journal.
#include <cerrno>

#include "base/limits.h"
#include "store/ledger.h"

namespace clutchward {
namespace {

// Makes the folder and the missing ones above it. A folder above that may not be synced by us was
// there before us.
Errno make_path(FileSystem& disk, const std::string& folder) {
  const Errno error = disk.make_folder(folder);
  const std::string above = folder_of(folder);
  if (error == 0) disk.sync_folder(above);
  if (error != ENOENT || above.empty() || above == folder) return error == EEXIST ? 0 : error;
  if (const Errno why = make_path(disk, above)) return why;
  const Errno made = disk.make_folder(folder);
  if (made == 0) disk.sync_folder(above);
  return made == EEXIST ? 0 : made;
}

// The disk's own troubles: the state on it may still be read, and the alarms run on.
bool is_disk_trouble(Errno error) {
  return error == EROFS || error == ENOSPC || error == EDQUOT || error == EIO || error == EINTR;
}

// What the last probe wrote; nothing where it cannot be read.
std::optional<Wall> alive_at(FileSystem& disk, const std::string& path) {
  constexpr std::size_t kBytes = 1024;
  const Result<std::string> text = disk.read(path, kBytes);
  if (!text) return std::nullopt;
  const std::size_t at = text->find("at: ");
  if (at == text->npos) return std::nullopt;
  const std::size_t end = text->find('\n', at);
  if (end == text->npos) return std::nullopt;
  return parse_rfc3339(text->substr(at + 4, end - at - 4));
}

}  // namespace

StateLedger::StateLedger(FileSystem& disk, StoreOptions options, int lock)
    : disk_(disk),
      options_(std::move(options)),
      places_(options_.folder, options_.grouped),
      lock_(lock),
      checkpointer_(disk_, places_, options_.files_at_leisure) {}

StateLedger::~StateLedger() {
  if (journal_ >= 0) disk_.close(journal_);
  if (lock_ >= 0) disk_.close(lock_);
}

Result<StateLedger::Start> StateLedger::open(FileSystem& disk, StoreOptions options) {
  while (options.folder.size() > 1 && options.folder.back() == '/') options.folder.pop_back();
  const std::string& folder = options.folder;
  const Errno made = make_path(disk, folder);
  if (made != 0 && !is_disk_trouble(made))
    return Refusal{folder + ": cannot be made: " + error_text(made)};
  const Opened lock = disk.lock(folder + "/lock");
  if (lock.error == EWOULDBLOCK)
    return Refusal{folder + ": in use by another daemon, expected a state folder for each"};
  if (lock.error == ENOTDIR) return Refusal{folder + ": found something else, expected a folder"};
  if (lock.error != 0 && !is_disk_trouble(lock.error))
    return Refusal{folder + ": not writable, expected a folder to keep the state in: " +
                   error_text(lock.error)};
  std::unique_ptr<StateLedger> ledger(new StateLedger(disk, std::move(options), lock.file));

  Recovered found = recover(disk, ledger->places_);
  ledger->sequence_ = ledger->synced_ = found.sequence;
  ledger->at_ = found.at;
  ledger->unsettled_ = std::move(found.unsettled);
  ledger->generation_ = found.next_generation - 1;
  for (const auto& [key, value] : found.entries)
    if (ledger->places_.group_of(key)) ledger->checkpointer_.remember(key, lines_of(key, value));
  ledger->old_journals_ = std::move(found.journals);
  for (const std::string& path : found.leftovers) disk.remove(path);
  for (const std::string& path : found.damaged) {
    if (path.starts_with(ledger->places_.journals() + "/"))
      ledger->damaged_journals_.insert(path);  // once the new journal holds what is good in it
    else
      ledger->set_aside(path);
  }
  ledger->has_reserve_ = true;  // there may be one; restart() gives it up on a full disk
  const Errno error = ledger->restart();
  if (error != 0 && !is_disk_trouble(error))
    return Refusal{ledger->places_.folder() +
                   ": not writable, expected a folder to keep the state in: " + error_text(error)};
  if (ledger->has_reserve_) ledger->take_reserve();
  Kept kept;
  kept.alive_at = alive_at(disk, ledger->places_.alive());
  kept.saved_at = found.at;
  kept.sequence = found.sequence;
  kept.findings = std::move(found.findings);
  for (auto& [key, value] : found.entries) kept.entries.emplace_back(key, std::move(value));
  return Start{std::move(ledger), std::move(kept)};
}

}  // namespace clutchward
