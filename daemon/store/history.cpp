// The history's thread.
#include "store/history.h"

#include <sys/stat.h>

#include <algorithm>
#include <bit>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <iterator>
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
  append(to.told, from.told);
  if (!to.told_from) to.told_from = from.told_from;
}

std::size_t bytes_of(const HistoryRows& rows) {
  std::size_t bytes = rows.minutes.size() * sizeof(HistoryMinute);
  for (const HistoryEvent& event : rows.events) bytes += sizeof event + event.json.size();
  for (const HistoryRecord& record : rows.records) bytes += sizeof record + record.json.size();
  for (const HistoryTold& told : rows.told)
    bytes += sizeof told + told.first_line.size() + told.alarms.size();
  return bytes;
}

// From the front of each list, where the oldest stand: minutes first, then events and who was told,
// records last.
template <class T>
std::size_t drop(std::vector<T>& rows, std::size_t most) {
  const std::size_t count = std::min(rows.size(), most);
  rows.erase(rows.begin(), rows.begin() + static_cast<std::ptrdiff_t>(count));
  return count;
}

}  // namespace

std::size_t drop_oldest(HistoryRows& rows, std::size_t bound) {
  if (rows.size() < bound) return 0;
  const std::size_t surplus = rows.size() - bound + 1;
  std::size_t gone = drop(rows.minutes, surplus);
  gone += drop(rows.events, surplus - gone);
  gone += drop(rows.told, surplus - gone);
  return gone + drop(rows.records, surplus - gone);
}

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

HistoryRows History::waiting_of(const std::vector<std::string>& cabinets) const {
  const auto wanted = [&](const auto& row) {
    return std::find(cabinets.begin(), cabinets.end(), row.cabinet) != cabinets.end();
  };
  HistoryRows rows;
  const std::lock_guard lock(mutex_);
  for (const HistoryRows* each : {&committing_, &waiting_}) {
    std::copy_if(each->minutes.begin(), each->minutes.end(), std::back_inserter(rows.minutes),
                 wanted);
    std::copy_if(each->events.begin(), each->events.end(), std::back_inserter(rows.events), wanted);
  }
  return rows;
}

std::vector<HistoryEvent> History::waiting_events() const {
  const std::lock_guard lock(mutex_);
  std::vector<HistoryEvent> events = committing_.events;
  events.insert(events.end(), waiting_.events.begin(), waiting_.events.end());
  return events;
}

void History::keep_for(Span keep) {
  const std::lock_guard lock(mutex_);
  options_.keep = keep;
}

void History::commit_now() {
  std::unique_lock lock(mutex_);
  const std::uint64_t mine = ++wanted_;
  wake_.notify_one();
  committed_.wait(lock, [&] { return made_ >= mine || ended_; });
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

std::vector<std::string> History::take_kept() {
  const std::lock_guard lock(mutex_);
  return std::exchange(kept_, {});
}

void History::note(std::string text) {
  const std::lock_guard lock(mutex_);
  notes_.push_back(std::move(text));
}

void History::run() {
  for (bool stopping = false; !stopping;) {
    std::unique_lock lock(mutex_);
    wake_.wait_for(lock, options_.commit_every,
                   [this] { return stopping_ || wanted_ > made_ || due(); });
    stopping = stopping_;
    const std::uint64_t wanted = wanted_;
    committing_ = std::exchange(waiting_, {});
    waiting_bytes_ = 0;
    const Wall now = now_;
    const Span keep = options_.keep;
    lock.unlock();
    if (committing_.size() > 0) commit(now, keep);
    lock.lock();
    made_ = wanted;
    ended_ = stopping;
    committed_.notify_all();
  }
  file_.close();
}

HistoryRows History::take_committing() {
  const std::lock_guard lock(mutex_);
  return std::exchange(committing_, {});
}

void History::commit(Wall now, Span keep) {
  for (int attempt = 0; attempt < 2; ++attempt) {
    std::optional<HistoryFile::Trouble> why;
    if (!file_.is_open()) why = file_.open(options_.path, HistoryFile::For::writing);
    if (!why) why = file_.write(committing_);
    if (!why) {
      const std::lock_guard lock(mutex_);
      for (const HistoryRecord& each : committing_.records) kept_.push_back(each.batch);
    }
    if (!why && (!forgot_at_ || now - *forgot_at_ >= std::chrono::hours{24})) {
      take_committing();  // written; what fails from here on must not write them again
      why = file_.forget_before(now - keep);
      if (!why) forgot_at_ = now;
    }
    if (!why) {
      take_committing();
      file_.rest();
      const std::lock_guard lock(mutex_);
      trouble_.clear();
      return;
    }
    if (!why->damaged || attempt > 0) return fail(*why);
    set_aside();
  }
}

// Rows wait for the disk to come back, up to a bound; past it the oldest go.
void History::fail(const HistoryFile::Trouble& why) {
  file_.close();
  HistoryRows rows = take_committing();
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
  // Leftover logs belong to the damaged file, not to the one that comes.
  for (const char* log : {"-wal", "-shm", "-journal"})
    std::rename((options_.path + log).c_str(), (place + log).c_str());
  note(options_.path + ": damaged; it lies as " + place + ", and a new history is begun");
}

}  // namespace clutchward
