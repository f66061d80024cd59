// Keeps the history without making anybody wait: rows go into a queue, a thread of its own commits
// them in batches. What is not committed yet is lost by a crash or a power cut: at most the last
// ten minutes of curves, events and who was told, never an alarm (those are the store's). A full
// disk costs rows of the history and nothing else; a damaged file is set aside and a new one begun.
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

// Brings rows down to one under the bound (at the bound a commit is due at once, again and again),
// the oldest first: minutes, then events, who was told, records. How many are gone.
std::size_t drop_oldest(HistoryRows& rows, std::size_t bound);

class History {
 public:
  explicit History(HistoryOptions options);
  ~History();  // stops
  History(const History&) = delete;
  History& operator=(const History&) = delete;

  // Hands rows over; never waits for the disk. `now` is when: old rows are forgotten by it.
  void add(HistoryRows rows, Wall now);
  void keep_for(Span keep);
  // What was handed over and may not be in the file yet: minutes and events of these cabinets. A
  // row that is being committed may stand here and in the file.
  HistoryRows waiting_of(const std::vector<std::string>& cabinets) const;
  // Events of all cabinets, in the order in which they were handed over.
  std::vector<HistoryEvent> waiting_events() const;
  const std::string& path() const { return options_.path; }
  // Commits what was handed over so far and waits until that is done or has failed (trouble() then
  // says why). For a thread that may wait for a disk.
  void commit_now();
  // Commits what waits and ends the thread.
  void stop();

  // Why the history is not being written, or "".
  std::string trouble() const;
  // Sentences for the log, each told once.
  std::vector<std::string> take_notes();
  std::uint64_t lost_rows() const;
  // Batches whose records have been committed since the last call, each as often as it was handed
  // over.
  std::vector<std::string> take_kept();

 private:
  void run();
  bool due() const;
  void commit(Wall now, Span keep);
  void fail(const HistoryFile::Trouble& why);
  HistoryRows take_committing();
  void set_aside();
  void note(std::string text);

  HistoryOptions options_;
  HistoryFile file_;  // the thread's alone
  std::optional<Wall> forgot_at_;

  mutable std::mutex mutex_;
  std::condition_variable wake_;
  HistoryRows waiting_;
  HistoryRows committing_;         // changed under the lock, by the thread alone
  std::size_t waiting_bytes_ = 0;  // about
  Wall now_{};
  bool stopping_ = false;
  bool ended_ = false;
  std::uint64_t wanted_ = 0;  // commits asked for, and how many of them were made
  std::uint64_t made_ = 0;
  std::condition_variable committed_;
  std::string trouble_;
  std::vector<std::string> notes_;
  std::uint64_t lost_rows_ = 0;
  std::vector<std::string> kept_;

  std::thread thread_;
};

}  // namespace clutchward
