// A disk in memory that writes down every operation, so that a test can take the power away behind
// each of them; it fails on demand. Data is durable after its file's sync, names after their
// folder's: nothing else is promised, as on the file systems of the published studies (Pillai et
// al., OSDI 2014; Rebello et al., USENIX ATC 2020: a sync that failed once is lost for good).
#pragma once

#include <cerrno>
#include <functional>
#include <map>
#include <memory>
#include <set>
#include <string>
#include <vector>

#include "store/file_system.h"

namespace clutchward::testing_disk {

using Files = std::map<std::string, std::string>;

struct Operation {
  enum class Kind { create, write, sync, failed_sync, rename, remove, sync_folder, mark };
  Kind kind;
  int inode = -1;
  std::string path;
  std::string to;               // rename
  std::string bytes;            // write
  std::uint64_t attempted = 0;  // mark: the highest turn handed over, and the highest acknowledged
  std::uint64_t acknowledged = 0;
};

class MemoryDisk : public FileSystem {
 public:
  MemoryDisk() = default;
  explicit MemoryDisk(const Files& files) {
    for (const auto& [path, bytes] : files) {
      names_[path] = next_inode_;
      data_[next_inode_++] = bytes;
    }
  }

  // Asked before each operation; anything but 0 makes it fail.
  std::function<Errno(const std::string& call, const std::string& path)> fault;
  // The longest piece that one write takes.
  std::size_t piece = static_cast<std::size_t>(-1);
  // Room on the disk; what is written or reserved past it is ENOSPC.
  std::size_t room = static_cast<std::size_t>(-1);
  // The negative control: a sync that does nothing.
  bool ignores_syncs = false;
  std::vector<Operation> operations;
  std::size_t calls = 0;

  void mark(std::uint64_t attempted, std::uint64_t acknowledged) {
    Operation operation{Operation::Kind::mark, -1, "", "", "", attempted, acknowledged};
    operations.push_back(operation);
  }

  Files files() const {
    Files files;
    for (const auto& [path, inode] : names_) files[path] = data_.at(inode);
    return files;
  }
  void put(const std::string& path, const std::string& bytes) {
    names_[path] = next_inode_;
    data_[next_inode_++] = bytes;
  }
  bool has(const std::string& path) const { return names_.count(path) != 0; }
  const std::string& at(const std::string& path) const { return data_.at(names_.at(path)); }

  Opened create(const std::string& path) override {
    if (const Errno error = ask("create", path)) return {-1, error};
    if (has(path)) return {-1, EEXIST};
    const int inode = next_inode_++;
    names_[path] = inode;
    data_[inode];
    open_[inode] = path;
    operations.push_back({Operation::Kind::create, inode, path, "", ""});
    return {inode, 0};
  }
  Written write(int file, std::string_view bytes) override {
    if (const Errno error = ask("write", open_.at(file))) return {0, error};
    if (used() >= room) return {0, ENOSPC};
    const std::string_view part = bytes.substr(0, std::min(piece, room - used()));
    data_[file] += part;
    operations.push_back({Operation::Kind::write, file, open_.at(file), "", std::string(part)});
    return {part.size(), 0};
  }
  Errno sync(int file) override {
    const Errno error = ask("sync", open_.at(file));
    if (error == 0 && ignores_syncs) return 0;
    operations.push_back({error == 0 ? Operation::Kind::sync : Operation::Kind::failed_sync, file,
                          open_.at(file), "", ""});
    return error;
  }
  // Settles data alone: that it settles names, too, nobody may count on.
  Errno sync_all(int file) override {
    if (const Errno error = ask("sync_all", open_.at(file))) {
      for (const auto& [inode, path] : open_)
        operations.push_back({Operation::Kind::failed_sync, inode, path, "", ""});
      return error;
    }
    if (ignores_syncs) return 0;
    for (const auto& [inode, path] : open_)
      operations.push_back({Operation::Kind::sync, inode, path, "", ""});
    return 0;
  }
  void close(int file) override {
    if (file == kLock) return;
    open_.erase(file);
  }
  Errno reserve(int file, std::size_t bytes) override {
    if (const Errno error = ask("reserve", open_.at(file))) return error;
    if (used() + bytes > room) return ENOSPC;
    data_[file].assign(bytes, '\0');
    return 0;
  }
  Errno rename(const std::string& from, const std::string& to) override {
    if (const Errno error = ask("rename", from)) return error;
    if (!has(from)) return ENOENT;
    const int inode = names_.at(from);
    names_.erase(from);
    names_[to] = inode;
    operations.push_back({Operation::Kind::rename, inode, from, to, ""});
    return 0;
  }
  Errno remove(const std::string& path) override {
    if (const Errno error = ask("remove", path)) return error;
    if (!has(path)) return ENOENT;
    operations.push_back({Operation::Kind::remove, names_.at(path), path, "", ""});
    names_.erase(path);
    return 0;
  }
  Errno make_folder(const std::string& path) override {
    if (const Errno error = ask("make_folder", path)) return error;
    return folders_.insert(path).second ? 0 : EEXIST;
  }
  Errno sync_folder(const std::string& path) override {
    if (const Errno error = ask("sync_folder", path)) return error;
    if (!ignores_syncs) operations.push_back({Operation::Kind::sync_folder, -1, path, "", ""});
    return 0;
  }
  Result<std::string> read(const std::string& path, std::size_t limit) override {
    if (const Errno error = ask("read", path))
      return Refusal{path + ": cannot be read: " + error_text(error)};
    if (!has(path)) return Refusal{path + ": cannot be opened: " + error_text(ENOENT)};
    if (at(path).size() > limit) return Refusal{path + ": too long"};
    return at(path);
  }
  std::vector<std::string> files_under(const std::string& folder) override {
    std::vector<std::string> paths;
    for (const auto& [path, inode] : names_)
      if (path.starts_with(folder + "/")) paths.push_back(path);
    return paths;
  }
  Opened lock(const std::string& path) override {
    if (const Errno error = ask("lock", path)) return {-1, error};
    return {kLock, 0};
  }

 private:
  static constexpr int kLock = 1'000'000'000;

  Errno ask(const std::string& call, const std::string& path) {
    ++calls;
    return fault ? fault(call, path) : 0;
  }
  std::size_t used() const {
    std::size_t sum = 0;
    for (const auto& [path, inode] : names_) sum += data_.at(inode).size();
    return sum;
  }

  std::map<std::string, int> names_;
  std::map<int, std::string> data_;
  std::map<int, std::string> open_;
  std::set<std::string> folders_;
  int next_inode_ = 1;
};

}  // namespace clutchward::testing_disk
