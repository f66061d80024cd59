// One checkpoint's files. A sync of each file waits for the medium each time (1,000 files: 5.6 s as
// measured on a virtual disk); one sync of the whole disk for 256 of them took a twentieth of that.
#include "store/checkpointer.h"

#include <cerrno>

namespace clutchward {
namespace {

// In a hurry: bounded by the descriptors that a process may hold open, commonly 1,024.
constexpr std::size_t kFilesInAHurry = 256;

}  // namespace

void Checkpointer::remember(const std::string& key, const std::optional<Lines>& lines) {
  const auto group = places_.group_of(key);
  if (!group) return;
  auto found = groups_.find(*group);
  if (found == groups_.end()) found = groups_.emplace(*group, LinesByKey()).first;
  if (lines)
    found->second[key] = *lines;
  else
    found->second.erase(key);
}

void Checkpointer::begin(ChangeMap changes, std::uint64_t sequence, Wall at) {
  changes_ = std::move(changes);
  sequence_ = sequence;
  at_ = at;
  running_ = true;
  next_job_ = 0;
  jobs_.clear();
  why_.clear();
  std::set<std::string> groups;
  for (const auto& [key, value] : changes_) {
    const auto group = places_.group_of(key);
    if (!group) jobs_.push_back({places_.file_of(key), key, ""});
    if (group && groups.emplace(*group).second)
      jobs_.push_back({places_.file_of_group(*group), "", std::string(*group)});
  }
}

Checkpointer::Progress Checkpointer::advance(Pace pace) {
  if (next_job_ < jobs_.size()) return write_some(pace) ? Progress::more : Progress::failed;
  return sync_folders() ? Progress::done : Progress::failed;
}

ChangeMap Checkpointer::end() {
  for (const Temporary& temporary : temporaries_) {
    if (temporary.file >= 0) disk_.close(temporary.file);
    disk_.remove(temporary.path);
  }
  temporaries_.clear();
  jobs_.clear();
  running_ = false;
  return std::exchange(changes_, {});
}

bool Checkpointer::fail(const std::string& what, const std::string& path, Errno error) {
  why_ = path + ": cannot be " + what + ": " + error_text(error);
  // Whatever was thought to be known about folders may be wrong now.
  known_.clear();
  return false;
}

bool Checkpointer::make_folders(const std::string& folder) {
  if (known_.count(folder) != 0) return true;
  if (folder.size() > places_.kept().size() && !make_folders(folder_of(folder))) return false;
  const Errno error = disk_.make_folder(folder);
  if (error != 0 && error != EEXIST) return fail("made", folder, error);
  // Also where it was there already: a crash may have come before its name was synced.
  touched_.insert(folder_of(folder));
  known_.insert(folder);
  return true;
}

bool Checkpointer::remove_file(const std::string& path) {
  const Errno error = disk_.remove(path);
  if (error == ENOENT) return true;
  if (error != 0) return fail("removed", path, error);
  touched_.insert(folder_of(path));
  return true;
}

bool Checkpointer::write_temporary(const std::string& path, const std::string& bytes) {
  if (!make_folders(folder_of(path))) return false;
  const std::string temporary = path + ".tmp";
  Opened opened = disk_.create(temporary);
  if (opened.error == EEXIST) {
    disk_.remove(temporary);
    opened = disk_.create(temporary);
  }
  if (opened.error != 0) return fail("made", temporary, opened.error);
  temporaries_.push_back({temporary, opened.file});
  const Errno error = write_all(disk_, opened.file, bytes);
  return error == 0 || fail("written", temporary, error);
}

std::optional<std::string> Checkpointer::bytes_of(const Job& job) const {
  std::vector<std::string_view> entries;
  if (job.group.empty()) {
    const std::optional<Lines>& lines = changes_.find(job.key)->second;
    if (lines) entries.emplace_back(*lines);
  } else {
    const auto group = groups_.find(job.group);
    if (group != groups_.end())
      for (const auto& [key, lines] : group->second) entries.emplace_back(lines);
  }
  if (entries.empty()) return std::nullopt;
  return write_checkpoint(sequence_, at_, entries);
}

bool Checkpointer::write_some(Pace pace) {
  std::size_t files = pace == Pace::hurry ? kFilesInAHurry : at_leisure_;
  for (; files > 0 && next_job_ < jobs_.size(); --files, ++next_job_) {
    const Job& job = jobs_[next_job_];
    const std::optional<std::string> bytes = bytes_of(job);
    if (bytes ? !write_temporary(job.path, *bytes) : !remove_file(job.path)) return false;
  }
  return settle_temporaries(pace);
}

bool Checkpointer::sync_temporaries(Pace pace) {
  if (pace == Pace::hurry && temporaries_.size() > at_leisure_) {
    // The first was opened before anything was written to the others.
    const Errno error = disk_.sync_all(temporaries_.front().file);
    return error == 0 || fail("synced with others", temporaries_.front().path, error);
  }
  for (const Temporary& temporary : temporaries_)
    if (const Errno error = disk_.sync(temporary.file))
      return fail("synced", temporary.path, error);
  return true;
}

bool Checkpointer::settle_temporaries(Pace pace) {
  if (!sync_temporaries(pace)) return false;
  for (Temporary& temporary : temporaries_) disk_.close(std::exchange(temporary.file, -1));
  for (const Temporary& temporary : temporaries_) {
    const std::string path = temporary.path.substr(0, temporary.path.size() - 4);
    const Errno error = disk_.rename(temporary.path, path);
    if (error != 0) return fail("renamed", temporary.path, error);
    touched_.insert(folder_of(path));
  }
  temporaries_.clear();
  return true;
}

bool Checkpointer::sync_folders() {
  for (const std::string& folder : touched_) {
    const Errno error = disk_.sync_folder(folder);
    if (error != 0) return fail("synced", folder, error);
  }
  touched_.clear();
  return true;
}

}  // namespace clutchward
