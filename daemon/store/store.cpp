// The thread around the ledger. It takes no clock's time: it waits for work, or for a back-off to
// pass.
#include "store/store.h"

#include <sys/eventfd.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <iterator>

#include "base/check.h"
#include "base/limits.h"

namespace clutchward {
namespace {

// A failed disk is tried again after a second, then two, up to a minute: soon enough for a full
// disk that somebody clears, seldom enough not to wear a dying card.
constexpr Span kFirstBackOff = std::chrono::seconds(1);
constexpr Span kLongestBackOff = std::chrono::minutes(1);

// Written as one group; bounds the bytes of one write and how long the first of them waits.
constexpr std::size_t kTurnsAtOnce = 1000;

// So many notes wait for the log; a loop that never asks does not fill the memory.
constexpr std::size_t kNotes = 100;

}  // namespace

Result<Store::Start> Store::open(FileSystem& disk, StoreOptions options) {
  Result<StateLedger::Start> start = StateLedger::open(disk, std::move(options));
  if (!start) return Refusal{start.why()};
  const int event = ::eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK);
  if (event < 0) return Refusal{"the store's eventfd cannot be made: " + error_text(errno)};
  std::unique_ptr<Store> store(new Store(std::move(start->ledger), event));
  return Start{std::move(store), std::move(start->kept)};
}

Store::Store(std::unique_ptr<StateLedger> ledger, int event)
    : ledger_(std::move(ledger)), event_(event), saved_(ledger_->saved()) {
  last_submitted_ = saved_;
  publish(false);
  thread_ = std::thread([this] { run(); });
}

Store::~Store() {
  stop();
  ::close(event_);
}

void Store::submit(std::uint64_t turn, Wall at, std::vector<Change> changes) {
  {
    const std::lock_guard lock(mutex_);
    CHECK(turn > last_submitted_);
    last_submitted_ = turn;
    waiting_.push_back({turn, at, std::move(changes)});
    if (waiting_.size() > limits::kWaitingTurns) gather_waiting();
  }
  wake_.notify_one();
}

// All waiting turns as one: the last value of each key, under the last turn's number.
void Store::gather_waiting() {
  std::map<std::string, std::optional<Tree>> latest;
  for (Turn& turn : waiting_)
    for (Change& change : turn.changes) latest[std::move(change.key)] = std::move(change.value);
  Turn all{waiting_.back().sequence, waiting_.back().at, {}};
  all.changes.reserve(latest.size());
  for (auto& [key, value] : latest) all.changes.push_back({key, std::move(value)});
  waiting_.clear();
  waiting_.push_back(std::move(all));
}

StoreStatus Store::status() const {
  const std::lock_guard lock(mutex_);
  StoreStatus status = status_;
  status.waiting = waiting_.size();
  return status;
}

std::vector<std::string> Store::take_notes() {
  const std::lock_guard lock(mutex_);
  return std::exchange(notes_, {});
}

void Store::probe(std::optional<Wall> alive_at) {
  {
    const std::lock_guard lock(mutex_);
    probe_.emplace(alive_at);
  }
  wake_.notify_one();
}

void Store::stop() {
  {
    const std::lock_guard lock(mutex_);
    stopping_ = true;
  }
  wake_.notify_one();
  if (thread_.joinable()) thread_.join();
  ledger_.reset();  // gives the folder's lock up
}

void Store::run() {
  bool stopping = false;
  while (!stopping) {
    Probe probe;
    std::vector<Turn> turns = next_turns(probe, stopping);
    const bool proven = work(std::move(turns), probe);
    publish(proven);  // whoever waits for these turns does not wait for a checkpoint's file as well
    if (ledger_->checkpoint_running()) ledger_->continue_checkpoint();
    if (ledger_->checkpoint_due()) ledger_->begin_checkpoint();
    if (stopping) finish();
    publish(false);
  }
}

// Waits for something to do, or for the back-off to pass.
std::vector<Turn> Store::next_turns(Probe& probe, bool& stopping) {
  const bool in_trouble = !ledger_->trouble().empty();
  const bool busy = ledger_->checkpoint_running();
  std::unique_lock lock(mutex_);
  if (in_trouble)
    wake_.wait_for(lock, back_off_, [&] { return stopping_; });
  else if (!busy)
    wake_.wait(lock, [&] { return stopping_ || probe_ || !waiting_.empty(); });
  const std::size_t count = stopping_ ? waiting_.size() : std::min(waiting_.size(), kTurnsAtOnce);
  const auto end = waiting_.begin() + static_cast<std::ptrdiff_t>(count);
  std::vector<Turn> turns(std::make_move_iterator(waiting_.begin()), std::make_move_iterator(end));
  waiting_.erase(waiting_.begin(), end);
  // Turns go first: their promises wait for them. They are saved with their time, a sign of life.
  if (turns.empty()) probe = std::exchange(probe_, std::nullopt);
  stopping = stopping_;
  return turns;
}

// True where something has been written and synced.
bool Store::work(std::vector<Turn> turns, const Probe& probe) {
  const bool was_in_trouble = !ledger_->trouble().empty();
  bool proven = false;
  if (!turns.empty())
    proven = ledger_->append(std::move(turns));
  else if (was_in_trouble)
    proven = ledger_->retry();
  else if (probe)
    proven = ledger_->probe(*probe);
  if (ledger_->trouble().empty())
    back_off_ = Span(0);
  else
    back_off_ = std::clamp(back_off_ * 2, kFirstBackOff, kLongestBackOff);
  return proven;
}

void Store::finish() {
  if (!ledger_->retry()) return;
  constexpr auto kHurry = Checkpointer::Pace::hurry;
  while (ledger_->checkpoint_running()) ledger_->continue_checkpoint(kHurry);
  if (!ledger_->has_unsettled()) return;
  ledger_->begin_checkpoint();
  while (ledger_->checkpoint_running()) ledger_->continue_checkpoint(kHurry);
}

void Store::publish(bool proven) {
  {
    const std::lock_guard lock(mutex_);
    StoreStatus now;
    now.writable = ledger_->trouble().empty();
    now.trouble = ledger_->trouble();
    now.checkpoint_trouble = ledger_->checkpoint_trouble();
    now.has_reserve = ledger_->has_reserve();
    now.saved = ledger_->saved();
    now.proofs = status_.proofs + (proven ? 1 : 0);
    std::vector<std::string> notes = ledger_->take_notes();
    if (now == status_ && notes.empty()) return;
    status_ = std::move(now);
    saved_ = status_.saved;
    for (std::string& note : notes)
      if (notes_.size() < kNotes) notes_.push_back(std::move(note));
  }
  const std::uint64_t one = 1;
  // The counter cannot run over before somebody reads it, and a wake-up is all that it means.
  [[maybe_unused]] const ssize_t written = ::write(event_, &one, sizeof one);
}

}  // namespace clutchward
