// Writes the files of one checkpoint, a few at a time: each by way of a temporary file in the same
// folder, synced and renamed into place; the folders are synced at the end. It knows nothing of
// journals; whoever runs it keeps them until done() says that all is on the medium.
#pragma once

#include <cstdint>
#include <map>
#include <set>
#include <string>
#include <vector>

#include "store/document.h"
#include "store/file_system.h"
#include "store/place.h"

namespace clutchward {

class Checkpointer {
 public:
  enum class Progress { more, done, failed };

  // `at_leisure`: so many files a step at most.
  Checkpointer(FileSystem& disk, const Places& places, std::size_t at_leisure)
      : disk_(disk), places_(places), at_leisure_(at_leisure) {}

  // What a group's file holds is needed whole, so that its entries stay in memory.
  void remember(const std::string& key, const std::optional<Lines>& lines);

  // Begins a checkpoint that holds these changes at this turn.
  void begin(ChangeMap changes, std::uint64_t sequence, Wall at);
  bool running() const { return running_; }
  enum class Pace { leisure, hurry };
  // Writes a few files, so that turns that come in meanwhile do not wait long; in a hurry many,
  // with one sync of the whole disk for all of them, however long other programs' data take. After
  // `failed` why() says what, and the changes are to be taken back and come again with the next
  // checkpoint.
  Progress advance(Pace pace);
  const std::string& why() const { return why_; }
  // Ends the checkpoint; answers its changes.
  ChangeMap end();

 private:
  struct Job {
    std::string path;
    std::string key;    // where the file is one key's
    std::string group;  // where it is a group's
  };
  struct Temporary {
    std::string path;
    int file;
  };

  bool fail(const std::string& what, const std::string& path, Errno error);
  bool make_folders(const std::string& folder);
  bool remove_file(const std::string& path);
  bool write_temporary(const std::string& path, const std::string& bytes);
  bool write_some(Pace pace);
  // The file's bytes, or none: it holds nothing any more.
  std::optional<std::string> bytes_of(const Job& job) const;
  bool settle_temporaries(Pace pace);
  bool sync_temporaries(Pace pace);
  bool sync_folders();

  FileSystem& disk_;
  const Places& places_;
  std::size_t at_leisure_;
  std::map<std::string, LinesByKey, std::less<>> groups_;
  ChangeMap changes_;
  std::uint64_t sequence_ = 0;
  Wall at_{};
  std::vector<Job> jobs_;
  std::size_t next_job_ = 0;
  std::vector<Temporary> temporaries_;
  std::set<std::string> touched_;  // folders to sync
  std::set<std::string> known_;    // folders that exist, and whose names are synced or touched
  bool running_ = false;
  std::string why_;
};

}  // namespace clutchward
