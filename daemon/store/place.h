// Where what lies in the state folder: which file holds a key, how journals and damaged files are
// named. Names in, names out; it touches no disk.
//
//   lock  reserve  alive  journal/00000007.yaml  kept/cabinets/setter-a.yaml  kept/outbox/all.yaml
//   kept/cabinets/setter-b.yaml.damaged-1
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace clutchward {

class Places {
 public:
  // `folder`: the state folder. `grouped`: first parts of keys ("outbox") that share one file.
  Places(std::string folder, std::vector<std::string> grouped)
      : folder_(std::move(folder)), grouped_(std::move(grouped)) {}

  const std::string& folder() const { return folder_; }
  std::string lock() const { return folder_ + "/lock"; }
  std::string reserve() const { return folder_ + "/reserve"; }
  std::string probe() const { return folder_ + "/probe"; }
  std::string alive() const { return folder_ + "/alive"; }
  std::string journals() const { return folder_ + "/journal"; }
  std::string kept() const { return folder_ + "/kept"; }
  std::string journal(std::uint64_t generation) const;

  // The group that the key belongs to, or none: a file of its own.
  std::optional<std::string_view> group_of(std::string_view key) const;
  std::string file_of_group(std::string_view group) const;
  // The file of the key, or of its group. Any text is a key: what could not stand in a file name
  // stands as %XX, and a part too long for one is cut and told apart by its checksum.
  std::string file_of(std::string_view key) const;

 private:
  std::string folder_;
  std::vector<std::string> grouped_;
};

// The generation in a journal's path, or none: not a journal.
std::optional<std::uint64_t> journal_generation(std::string_view path);

std::string folder_of(const std::string& path);

}  // namespace clutchward
