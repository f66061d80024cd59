// System calls and nothing else. A call that a signal interrupted is made again a bounded number of
// times, except a sync: after an interrupted sync nothing is known, so it counts as failed.
#include "store/real_files.h"

#include <dirent.h>
#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <csignal>
#include <cstring>

namespace clutchward {
namespace {

// A signal a call is rare; a call that is interrupted this often is a broken disk driver.
constexpr int kInterruptions = 100;

// Folders inside folders: a key has a handful of parts.
constexpr int kFolderDepth = 16;

template <class Call>
auto uninterrupted(Call call) {
  auto answer = call();
  for (int i = 0; i < kInterruptions && answer < 0 && errno == EINTR; ++i) answer = call();
  return answer;
}

Errno answer_of(int result) { return result < 0 ? errno : 0; }

void collect(const std::string& folder, int depth, std::vector<std::string>& paths) {
  DIR* open_folder = ::opendir(folder.c_str());
  if (open_folder == nullptr) return;
  while (const dirent* entry = ::readdir(open_folder)) {
    const std::string name = entry->d_name;
    if (name == "." || name == "..") continue;
    const std::string path = folder + "/" + name;
    struct stat about {};
    if (::lstat(path.c_str(), &about) != 0) continue;
    if (S_ISREG(about.st_mode)) paths.push_back(path);
    if (S_ISDIR(about.st_mode) && depth > 0) collect(path, depth - 1, paths);
  }
  ::closedir(open_folder);
}

}  // namespace

RealFiles::RealFiles() { std::signal(SIGXFSZ, SIG_IGN); }

Opened RealFiles::create(const std::string& path) {
  const int file = uninterrupted([&] {
    return ::open(path.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_APPEND | O_CLOEXEC, 0640);
  });
  return {file, answer_of(file)};
}

Written RealFiles::write(int file, std::string_view bytes) {
  const ssize_t count = uninterrupted([&] { return ::write(file, bytes.data(), bytes.size()); });
  if (count < 0) return {0, errno};
  return {static_cast<std::size_t>(count), 0};
}

Errno RealFiles::sync(int file) { return answer_of(::fdatasync(file)); }

// Linux reports here what failed to be written since `file` was opened (from 5.8 on, syncfs(2)).
Errno RealFiles::sync_all(int file) { return answer_of(::syncfs(file)); }

void RealFiles::close(int file) { ::close(file); }

Errno RealFiles::reserve(int file, std::size_t bytes) {
  return ::posix_fallocate(file, 0, static_cast<off_t>(bytes));
}

Errno RealFiles::rename(const std::string& from, const std::string& to) {
  return answer_of(uninterrupted([&] { return ::rename(from.c_str(), to.c_str()); }));
}

Errno RealFiles::remove(const std::string& path) {
  return answer_of(uninterrupted([&] { return ::unlink(path.c_str()); }));
}

Errno RealFiles::make_folder(const std::string& path) {
  return answer_of(::mkdir(path.c_str(), 0750));
}

Errno RealFiles::sync_folder(const std::string& path) {
  const int folder =
      uninterrupted([&] { return ::open(path.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC); });
  if (folder < 0) return errno;
  const Errno error = answer_of(::fsync(folder));
  ::close(folder);
  return error;
}

Result<std::string> RealFiles::read(const std::string& path, std::size_t limit) {
  const int file = uninterrupted([&] { return ::open(path.c_str(), O_RDONLY | O_CLOEXEC); });
  if (file < 0) return Refusal{path + ": cannot be opened: " + error_text(errno)};
  std::string bytes;
  Errno error = 0;
  while (bytes.size() <= limit) {
    const std::size_t before = bytes.size();
    const std::size_t chunk = before == 0 ? 8 * 1024 : 256 * 1024;
    bytes.resize(before + chunk);
    const ssize_t count = uninterrupted([&] { return ::read(file, bytes.data() + before, chunk); });
    error = count < 0 ? errno : 0;
    bytes.resize(before + static_cast<std::size_t>(std::max<ssize_t>(count, 0)));
    if (count <= 0) break;
  }
  ::close(file);
  if (error != 0) return Refusal{path + ": cannot be read: " + error_text(error)};
  if (bytes.size() > limit)
    return Refusal{path + ": longer than the " + std::to_string(limit) + " bytes allowed"};
  return bytes;
}

std::vector<std::string> RealFiles::files_under(const std::string& folder) {
  std::vector<std::string> paths;
  collect(folder, kFolderDepth, paths);
  std::sort(paths.begin(), paths.end());
  return paths;
}

Opened RealFiles::lock(const std::string& path) {
  int file =
      uninterrupted([&] { return ::open(path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0640); });
  // On a disk that has turned read-only an old lock file still tells two daemons apart.
  if (file < 0 && errno == EROFS)
    file = uninterrupted([&] { return ::open(path.c_str(), O_RDONLY | O_CLOEXEC); });
  if (file < 0) return {-1, errno};
  if (::flock(file, LOCK_EX | LOCK_NB) == 0) return {file, 0};
  const Errno error = errno;
  ::close(file);
  return {-1, error};
}

Errno write_all(FileSystem& disk, int file, std::string_view bytes) {
  while (!bytes.empty()) {
    const Written written = disk.write(file, bytes);
    if (written.error != 0) return written.error;
    if (written.bytes == 0) return EIO;
    bytes.remove_prefix(written.bytes);
  }
  return 0;
}

std::string error_text(Errno error) {
  const char* name = ::strerrorname_np(error);
  const char* words = ::strerrordesc_np(error);
  return std::string(words != nullptr ? words : "unknown error") + " (" +
         (name != nullptr ? name : std::to_string(error).c_str()) + ")";
}

}  // namespace clutchward
