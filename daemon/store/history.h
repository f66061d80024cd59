// Keeps the history without making anybody wait: rows go into a queue, a thread of its own commits
// them in batches. What is not committed yet is lost by a crash or a power cut: at most the last
// ten minutes of curves and events, never an alarm (those are the store's). A full disk costs rows
// of the history and nothing else; a damaged file is set aside and a new one begun.
#pragma once

#include <condition_variable>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "base/limits.h"
#include "store/history_file.h"

namespace clutchward {

struct HistoryOptions {
  std::string path;
  Span keep{0};
  // Commits each minute write several times the bytes: tests/bench/history_bytes.cpp counts them.
  Span commit_every = std::chrono::minutes{10};
  // So many are committed whatever the time; where the disk fails, so many less one wait for it.
  std::size_t most_waiting = limits::kHistoryRowsACommit;
  // So many bytes of rows too, while the disk is well: a large farm's ten minutes are not kept in
  // memory.
  std::size_t most_bytes = limits::kHistoryBytesACommit;
};

class History {
 public:
  explicit History(HistoryOptions options);
  ~History();  // stops
  History(const History&) = delete;
  History& operator=(const History&) = delete;

  // Hands rows over; never waits for the disk. `now` is when: old rows are forgotten by it.
  void add(HistoryRows rows, Wall now);
  void keep_for(Span keep);
  // Commits what waits and ends the thread.
  void stop();

  // Why the history is not being written, or "".
  std::string trouble() const;
  // Sentences for the log, each told once.
  std::vector<std::string> take_notes();
  std::uint64_t lost_rows() const;

 private:
  void run();
  bool due() const;
  void commit(HistoryRows rows, Wall now, Span keep);
  void fail(const HistoryFile::Trouble& why, HistoryRows rows);
  void set_aside();
  void note(std::string text);

  HistoryOptions options_;
  HistoryFile file_;  // the thread's alone
  std::optional<Wall> forgot_at_;

  mutable std::mutex mutex_;
  std::condition_variable wake_;
  HistoryRows waiting_;
  std::size_t waiting_bytes_ = 0;  // about
  Wall now_{};
  bool stopping_ = false;
  std::string trouble_;
  std::vector<std::string> notes_;
  std::uint64_t lost_rows_ = 0;

  std::thread thread_;
};

}  // namespace clutchward
