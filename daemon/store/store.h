// Keeps the daemon's state durable without ever making the loop wait: turns go into a queue, a
// thread of its own writes them (turns that gathered during one sync are one group) and tells by an
// eventfd up to which turn all is saved. It decides nothing about what is kept.
#pragma once

#include <atomic>
#include <condition_variable>
#include <deque>
#include <memory>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

#include "store/ledger.h"

namespace clutchward {

struct StoreStatus {
  // False: what failed stands in `trouble`; turns are kept in memory and tried again.
  bool writable = true;
  std::string trouble;
  // Turns are saved, but old journals cannot be turned into checkpoints; or "".
  std::string checkpoint_trouble;
  // False: the disk is full or nearly so, and the space kept for that has been given up.
  bool has_reserve = true;
  std::uint64_t saved = 0;
  std::size_t waiting = 0;  // turns in the queue, not yet in the thread's hands
  // Rises with every group saved and every probe that went well.
  std::uint64_t proofs = 0;
  bool operator==(const StoreStatus&) const = default;
};

class Store {
 public:
  struct Start {
    std::unique_ptr<Store> store;
    Kept kept;
  };

  // As StateLedger::open(); then the thread runs. `disk` outlives the store.
  static Result<Start> open(FileSystem& disk, StoreOptions options);
  // Stops.
  ~Store();
  Store(const Store&) = delete;
  Store& operator=(const Store&) = delete;

  // Hands over one turn; never waits. `turn` is greater than every one before it. Past
  // limits::kWaitingTurns the waiting turns become one, which is then saved wholly or not at all.
  void submit(std::uint64_t turn, Wall at, std::vector<Change> changes);

  // All turns up to this one are on the medium.
  std::uint64_t saved() const { return saved_.load(); }
  // Becomes readable whenever saved(), status() or the notes have changed; read it, then look.
  int event() const { return event_; }
  StoreStatus status() const;
  // Sentences for the log, each told once.
  std::vector<std::string> take_notes();

  // Asks for a proof that the state can be written: a small file, in which `alive_at` then stands
  // for the next start (Kept::alive_at). StoreStatus::proofs rises when that, or a group saved from
  // now on, has gone well. For the watchdog; never waits.
  void probe(std::optional<Wall> alive_at);

  // Saves what waits, makes a checkpoint of all of it and ends the thread. Waits for the disk. On a
  // disk that fails it tries once more and gives up; saved() then says up to where.
  void stop();

 private:
  Store(std::unique_ptr<StateLedger> ledger, int event);

  void run();
  using Probe = std::optional<std::optional<Wall>>;
  std::vector<Turn> next_turns(Probe& probe, bool& stopping);
  bool work(std::vector<Turn> turns, const Probe& probe);
  void finish();
  void publish(bool proven);
  void gather_waiting();

  std::unique_ptr<StateLedger> ledger_;  // the thread's alone once it runs
  const int event_;
  std::atomic<std::uint64_t> saved_;
  Span back_off_{};  // the thread's

  mutable std::mutex mutex_;
  std::condition_variable wake_;
  std::deque<Turn> waiting_;
  std::uint64_t last_submitted_ = 0;
  Probe probe_;  // none: nobody asks
  bool stopping_ = false;
  StoreStatus status_;
  std::vector<std::string> notes_;

  std::thread thread_;
};

}  // namespace clutchward
