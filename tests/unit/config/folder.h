// A folder of its own for one test, gone when the test is over.
#pragma once

#include <sys/stat.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

namespace clutchward {

class Folder {
 public:
  Folder() {
    std::string name = (std::filesystem::temp_directory_path() / "clutchward-XXXXXX").string();
    path_ = mkdtemp(name.data());
  }
  ~Folder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;

  std::string path(const std::string& name) const { return (path_ / name).string(); }

  // Writes a file for its owner only, with the folders above it; returns its path.
  std::string write(const std::string& name, const std::string& text, mode_t mode = 0600) const {
    const std::filesystem::path file = path_ / name;
    std::filesystem::create_directories(file.parent_path());
    std::ofstream(file, std::ios::binary) << text;
    ::chmod(file.c_str(), mode);
    return file.string();
  }

 private:
  std::filesystem::path path_;
};

inline std::string read_whole_file(const std::string& path) {
  std::ifstream stream(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(stream), std::istreambuf_iterator<char>()};
}

}  // namespace clutchward
