// The one seam between the store and the disk: every file operation that a state file needs, and no
// other. A test puts a disk behind it that loses what was not synced, runs full or fails the Nth
// sync. It decides nothing and retries nothing but an interrupted call.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"

namespace clutchward {

// What an operation answers: 0, or the system's error number.
using Errno = int;

struct Opened {
  int file = -1;
  Errno error = 0;
};

struct Written {
  std::size_t bytes = 0;
  Errno error = 0;
};

struct FileSystem {
  virtual ~FileSystem() = default;

  // A new file, opened for appending; EEXIST where the name is taken.
  virtual Opened create(const std::string& path) = 0;
  // One write; it may be short.
  virtual Written write(int file, std::string_view bytes) = 0;
  // The file's bytes and length are on the medium once this answers 0. After any other answer
  // nothing is known about them and asking again proves nothing.
  virtual Errno sync(int file) = 0;
  // As sync(), for everything that was written to the disk that holds `file` since that was opened.
  virtual Errno sync_all(int file) = 0;
  virtual void close(int file) = 0;
  // Room for `bytes` bytes, really taken from the disk.
  virtual Errno reserve(int file, std::size_t bytes) = 0;
  virtual Errno rename(const std::string& from, const std::string& to) = 0;
  virtual Errno remove(const std::string& path) = 0;
  // EEXIST where something of that name is there already.
  virtual Errno make_folder(const std::string& path) = 0;
  // The names in the folder (files made, renamed, removed) are on the medium once this answers 0.
  virtual Errno sync_folder(const std::string& path) = 0;

  // The whole file; a Refusal that names path and reason, or says that it is past `limit` bytes.
  virtual Result<std::string> read(const std::string& path, std::size_t limit) = 0;
  // All files under `folder` (none where it is missing), as paths beginning with `folder`, sorted.
  virtual std::vector<std::string> files_under(const std::string& folder) = 0;
  // Holds the file at `path` against every other process until closed; EWOULDBLOCK: held.
  virtual Opened lock(const std::string& path) = 0;
};

// Writes all of `bytes`, however short the single writes are.
Errno write_all(FileSystem& disk, int file, std::string_view bytes);

// The system's words for an error number, with its name where people search for it:
// "No space left on device (ENOSPC)".
std::string error_text(Errno error);

}  // namespace clutchward
