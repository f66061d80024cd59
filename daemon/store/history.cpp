// The history's thread.
#include "store/history.h"

#include <sys/stat.h>

#include <algorithm>
#include <bit>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <utility>

namespace clutchward {
namespace {

template <class T>
void append(std::vector<T>& to, std::vector<T>& from) {
  to.insert(to.end(), std::make_move_iterator(from.begin()), std::make_move_iterator(from.end()));
}

void append(HistoryRows& to, HistoryRows from) {
  append(to.minutes, from.minutes);
  append(to.events, from.events);
  append(to.records, from.records);
}

std::size_t bytes_of(const HistoryRows& rows) {
  std::size_t bytes = rows.minutes.size() * sizeof(HistoryMinute);
  for (const HistoryEvent& event : rows.events) bytes += sizeof event + event.json.size();
  for (const HistoryRecord& record : rows.records) bytes += sizeof record + record.json.size();
  return bytes;
}

// From the front of each list, where the oldest stand: minutes first, then events, records last.
template <class T>
std::size_t drop(std::vector<T>& rows, std::size_t most) {
  const std::size_t count = std::min(rows.size(), most);
  rows.erase(rows.begin(), rows.begin() + static_cast<std::ptrdiff_t>(count));
  return count;
}

// Down to one under the bound: at the bound a commit is due at once, again and again.
std::size_t drop_oldest(HistoryRows& rows, std::size_t bound) {
  if (rows.size() < bound) return 0;
  const std::size_t surplus = rows.size() - bound + 1;
  std::size_t gone = drop(rows.minutes, surplus);
  gone += drop(rows.events, surplus - gone);
  return gone + drop(rows.records, surplus - gone);
}

}  // namespace

History::History(HistoryOptions options)
    : options_(std::move(options)), thread_([this] { run(); }) {}
History::~History() { stop(); }

void History::add(HistoryRows rows, Wall now) {
  const std::lock_guard lock(mutex_);
  waiting_bytes_ += bytes_of(rows);
  append(waiting_, std::move(rows));
  now_ = now;
  if (due()) wake_.notify_one();
}

// More wait than is to be kept in memory. A disk that fails is tried again at the usual pace.
bool History::due() const {
  return waiting_.size() >= options_.most_waiting ||
         (trouble_.empty() && waiting_bytes_ >= options_.most_bytes);
}

void History::keep_for(Span keep) {
  const std::lock_guard lock(mutex_);
  options_.keep = keep;
}

void History::stop() {
  {
    const std::lock_guard lock(mutex_);
    stopping_ = true;
  }
  wake_.notify_one();
  if (thread_.joinable()) thread_.join();
}

std::string History::trouble() const {
  const std::lock_guard lock(mutex_);
  return trouble_;
}

std::vector<std::string> History::take_notes() {
  const std::lock_guard lock(mutex_);
  return std::exchange(notes_, {});
}

std::uint64_t History::lost_rows() const {
  const std::lock_guard lock(mutex_);
  return lost_rows_;
}

void History::note(std::string text) {
  const std::lock_guard lock(mutex_);
  notes_.push_back(std::move(text));
}

void History::run() {
  for (bool stopping = false; !stopping;) {
    std::unique_lock lock(mutex_);
    wake_.wait_for(lock, options_.commit_every, [this] { return stopping_ || due(); });
    stopping = stopping_;
    HistoryRows rows = std::exchange(waiting_, {});
    waiting_bytes_ = 0;
    const Wall now = now_;
    const Span keep = options_.keep;
    lock.unlock();
    if (rows.size() > 0) commit(std::move(rows), now, keep);
  }
  file_.close();
}

void History::commit(HistoryRows rows, Wall now, Span keep) {
  for (int attempt = 0; attempt < 2; ++attempt) {
    std::optional<HistoryFile::Trouble> why;
    if (!file_.is_open()) why = file_.open(options_.path, HistoryFile::For::writing);
    if (!why) why = file_.write(rows);
    if (!why && (!forgot_at_ || now - *forgot_at_ >= std::chrono::hours{24})) {
      rows = {};  // written; what fails from here on must not write them again
      why = file_.forget_before(now - keep);
      if (!why) forgot_at_ = now;
    }
    if (!why) {
      const std::lock_guard lock(mutex_);
      trouble_.clear();
      return;
    }
    if (!why->damaged || attempt > 0) return fail(*why, std::move(rows));
    set_aside();
  }
}

// Rows wait for the disk to come back, up to a bound; past it the oldest go.
void History::fail(const HistoryFile::Trouble& why, HistoryRows rows) {
  file_.close();
  const std::lock_guard lock(mutex_);
  if (trouble_.empty()) notes_.push_back(why.why);
  trouble_ = why.why;
  append(rows, std::exchange(waiting_, {}));
  if (const std::size_t lost = drop_oldest(rows, options_.most_waiting); lost > 0) {
    // Told at the first loss and whenever it has doubled: an hour of a full disk is a few lines.
    if (lost_rows_ == 0 || std::bit_width(lost_rows_) != std::bit_width(lost_rows_ + lost))
      notes_.push_back(options_.path + ": " + std::to_string(lost_rows_ + lost) +
                       " rows are lost so far, the oldest of those that waited");
    lost_rows_ += lost;
  }
  waiting_bytes_ = bytes_of(rows);
  waiting_ = std::move(rows);
}

void History::set_aside() {
  file_.close();
  std::string place;
  for (std::size_t i = 1; i <= limits::kDamagedFiles; ++i) {
    place = options_.path + ".damaged-" + std::to_string(i);
    struct stat there {};
    if (::stat(place.c_str(), &there) != 0) break;
  }
  if (std::rename(options_.path.c_str(), place.c_str()) != 0) {
    note(options_.path + ": damaged, and cannot be set aside: " + std::strerror(errno));
    return;
  }
  // A leftover journal belongs to the damaged file, not to the one that comes.
  std::rename((options_.path + "-journal").c_str(), (place + "-journal").c_str());
  note(options_.path + ": damaged; it lies as " + place + ", and a new history is begun");
}

}  // namespace clutchward
