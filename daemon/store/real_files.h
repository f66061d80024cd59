// The file system of the machine behind the store's seam. No decisions: paths in, error numbers
// out.
#pragma once

#include "store/file_system.h"

namespace clutchward {

class RealFiles : public FileSystem {
 public:
  // From here on the process ignores SIGXFSZ: a file past the size limit is an error to report
  // (EFBIG), not a reason to die.
  RealFiles();

  Opened create(const std::string& path) override;
  Written write(int file, std::string_view bytes) override;
  Errno sync(int file) override;
  Errno sync_all(int file) override;
  void close(int file) override;
  Errno reserve(int file, std::size_t bytes) override;
  Errno rename(const std::string& from, const std::string& to) override;
  Errno remove(const std::string& path) override;
  Errno make_folder(const std::string& path) override;
  Errno sync_folder(const std::string& path) override;
  Result<std::string> read(const std::string& path, std::size_t limit) override;
  std::vector<std::string> files_under(const std::string& folder) override;
  Opened lock(const std::string& path) override;
};

}  // namespace clutchward
