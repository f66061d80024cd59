// Reads the history for whoever must not wait for a disk: questions go to a thread of its own,
// begun with the first, and their answers are told in a later turn on the asker's thread. Few wait
// at a time. Writes nothing and knows no meaning.
#pragma once

#include <functional>
#include <memory>
#include <string>

#include "store/history_file.h"

namespace clutchward {

class HistoryReader {
 public:
  explicit HistoryReader(std::string path);
  // Questions that still wait are never answered.
  ~HistoryReader();
  HistoryReader(const HistoryReader&) = delete;
  HistoryReader& operator=(const HistoryReader&) = delete;

  // Reads on the reader's thread. `file` is null where nothing has been committed yet, `why` then
  // "", and where it cannot be read: `why` then says so. A look that is long should be made of
  // several statements: a commit waits for each.
  using Look = std::function<void(const HistoryFile* file, const std::string& why)>;
  // `done` is called in a later turn(). False where too many wait; then neither is called.
  bool ask(Look look, std::function<void()> done);

  int descriptor() const;  // readable while an answer waits for turn()
  void turn();

 private:
  struct Parts;
  std::unique_ptr<Parts> parts_;
};

}  // namespace clutchward
