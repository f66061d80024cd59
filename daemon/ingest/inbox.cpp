// The arena's records and the swap. One short lock guards the buffers: the library's thread and
// ours push, the loop swaps; nobody does more than one copy under it.
#include "ingest/inbox.h"

#include <sys/eventfd.h>
#include <sys/mman.h>
#include <unistd.h>

#include <cerrno>
#include <system_error>

namespace clutchward {
namespace {

struct Header {
  std::int64_t steady_ms;
  std::int64_t wall_ms;
  std::uint32_t sequence;
  std::uint32_t payload;
  std::uint16_t topic;
  std::uint16_t response_topic;
  std::uint16_t correlation;
  std::uint8_t kind;
  std::uint8_t link : 4;
  std::uint8_t qos : 3;
  std::uint8_t retained : 1;
};
static_assert(sizeof(Header) == 32);

// Room in the readings' arena for link changes alone: they come at most a few a second, each well
// below a kilobyte, and the loop drains many times a second.
constexpr std::size_t kLinkReserve = 64 * 1024;
// MQTT's own limit on correlation data and every text.
constexpr std::size_t kMqttTextBytes = 65'535;

constexpr std::size_t rounded(std::size_t size) { return (size + 7) & ~std::size_t{7}; }

std::size_t payload_limit(Incoming::Kind kind) {
  switch (kind) {
    case Incoming::Kind::reading:
      return limits::kPayloadBytes + 1;
    case Incoming::Kind::command:
      return limits::kCommandBytes + 1;
    case Incoming::Kind::link:
      break;
  }
  return 1024;
}

// Of one buffer: about 2,000 readings, more than a turn of the loop brings but in a flood.
constexpr std::size_t kKeptWarm = 128 * 1024;

}  // namespace

Arena::Arena(std::size_t capacity)
    : bytes_(std::make_unique_for_overwrite<std::byte[]>(capacity)), capacity_(capacity) {
  touched_ = capacity_;  // it may be what the start used and gave back to the allocator
  rest();
}

void Arena::clear() noexcept {
  touched_ = std::max(touched_, used_);
  used_ = count_ = 0;
  if (touched_ > 2 * kKeptWarm) give_back(kKeptWarm);
}

void Arena::rest() noexcept {
  if (used_ == 0) give_back(0);
}

void Arena::give_back(std::size_t keep) noexcept {
  static const auto page = static_cast<std::uintptr_t>(::sysconf(_SC_PAGESIZE));
  const auto start = reinterpret_cast<std::uintptr_t>(bytes_.get());
  const std::uintptr_t from = (start + keep + page - 1) / page * page;
  const std::uintptr_t to = (start + touched_) / page * page;
  // Where it fails the pages stay: nothing is lost by that.
  if (from < to) ::madvise(reinterpret_cast<void*>(from), to - from, MADV_DONTNEED);
  touched_ = std::min(touched_, keep);
}

bool Arena::append(const Incoming& item, std::uint32_t sequence, std::size_t keep_free) noexcept {
  const std::size_t size = rounded(sizeof(Header) + item.topic.size() + item.payload.size() +
                                   item.response_topic.size() + item.correlation.size());
  if (used_ + size + keep_free > capacity_) return false;
  Header header{};
  header.steady_ms = item.stamp.steady.time_since_epoch().count();
  header.wall_ms = item.stamp.wall.time_since_epoch().count();
  header.sequence = sequence;
  header.payload = static_cast<std::uint32_t>(item.payload.size());
  header.topic = static_cast<std::uint16_t>(item.topic.size());
  header.response_topic = static_cast<std::uint16_t>(item.response_topic.size());
  header.correlation = static_cast<std::uint16_t>(item.correlation.size());
  header.kind = static_cast<std::uint8_t>(item.kind);
  header.link = static_cast<std::uint8_t>(item.link) & 0xF;
  header.qos = item.qos & 3;
  header.retained = item.retained ? 1 : 0;
  std::byte* to = bytes_.get() + used_;
  std::memcpy(to, &header, sizeof header);
  to += sizeof header;
  for (const std::string_view text :
       {item.topic, item.payload, item.response_topic, item.correlation}) {
    if (!text.empty()) std::memcpy(to, text.data(), text.size());
    to += text.size();
  }
  used_ += size;
  ++count_;
  return true;
}

std::uint32_t Arena::sequence_at(std::size_t offset) const {
  std::uint32_t sequence;
  std::memcpy(&sequence, bytes_.get() + offset + offsetof(Header, sequence), sizeof sequence);
  return sequence;
}

Incoming Arena::read(std::size_t& offset) const {
  Header header;
  std::memcpy(&header, bytes_.get() + offset, sizeof header);
  const char* from = reinterpret_cast<const char*>(bytes_.get() + offset + sizeof header);
  const char* const start = from;
  const auto text = [&from](std::size_t size) {
    const std::string_view view(from, size);
    from += size;
    return view;
  };
  Incoming item;
  item.kind = static_cast<Incoming::Kind>(header.kind);
  item.link = static_cast<LinkState>(header.link);
  item.retained = header.retained != 0;
  item.qos = header.qos;
  item.stamp = {Steady(Span(header.steady_ms)), Wall(Span(header.wall_ms))};
  item.topic = text(header.topic);
  item.payload = text(header.payload);
  item.response_topic = text(header.response_topic);
  item.correlation = text(header.correlation);
  offset += rounded(sizeof header + static_cast<std::size_t>(from - start));
  return item;
}

Inbox::Inbox(std::size_t reading_bytes, std::size_t command_bytes)
    : readings_{Arena(reading_bytes + kLinkReserve), Arena(reading_bytes + kLinkReserve)},
      commands_{Arena(command_bytes), Arena(command_bytes)},
      event_(::eventfd(0, EFD_NONBLOCK | EFD_CLOEXEC)) {
  if (event_ < 0) throw std::system_error(errno, std::generic_category(), "eventfd for the inbox");
}

Inbox::~Inbox() { ::close(event_); }

void Inbox::push(const Incoming& item) noexcept {
  Incoming cut = item;
  cut.payload = cut.payload.substr(0, payload_limit(cut.kind));
  const bool fits = cut.topic.size() <= limits::kTopicBytes &&
                    cut.response_topic.size() <= limits::kTopicBytes &&
                    cut.correlation.size() <= kMqttTextBytes;
  const bool command = cut.kind == Incoming::Kind::command;
  bool stored = false;
  bool wake = false;
  if (fits) {
    const std::lock_guard lock(mutex_);
    Arena& arena = (command ? commands_ : readings_)[filling_];
    stored = arena.append(cut, sequence_, cut.kind == Incoming::Kind::reading ? kLinkReserve : 0);
    if (stored) {
      ++sequence_;
      wake = armed_;
      if (wake) {
        armed_ = false;
        ++wakes_;
      }
    }
  }
  if (!stored) {
    (command                               ? dropped_commands_
     : cut.kind == Incoming::Kind::reading ? dropped_readings_
                                           : dropped_links_)
        .fetch_add(1, std::memory_order_relaxed);
    return;
  }
  if (wake) {
    // Cannot fail: the counter is far from full and the descriptor lives as long as we do.
    const std::uint64_t one = 1;
    [[maybe_unused]] const ssize_t written = ::write(event_, &one, sizeof one);
  }
}

bool Inbox::arm() noexcept {
  const std::lock_guard lock(mutex_);
  armed_ = readings_[filling_].count() == 0 && commands_[filling_].count() == 0;
  return armed_;
}

Drained Inbox::drain() noexcept {
  const std::lock_guard lock(mutex_);
  armed_ = false;
  if (wakes_ > 0) {
    // One that is counted but not yet written makes the next wait return at once, and is read then:
    // an idle turn, never a descriptor that stays readable.
    std::uint64_t count = 0;
    if (::read(event_, &count, sizeof count) == sizeof count) wakes_ -= count;
  }
  const std::size_t full = filling_;
  filling_ = 1 - filling_;
  readings_[filling_].clear();
  commands_[filling_].clear();
  return Drained(readings_[full], commands_[full]);
}

void Inbox::rest() noexcept {
  const std::lock_guard lock(mutex_);
  readings_[1 - filling_].clear();
  commands_[1 - filling_].clear();
  for (Arena& arena : readings_) arena.rest();
  for (Arena& arena : commands_) arena.rest();
}

GatherPace::Microseconds GatherPace::after_drain(Microseconds now, std::size_t messages) {
  if (gathering_) {
    // Fewer than two messages in a pause: it no longer saves a wake-up.
    if (messages >= 2) return kPause;
    gathering_ = false;
    seen_ = 0;
    return Microseconds{0};
  }
  if (messages == 0) return Microseconds{0};
  drains_[next_] = now;
  next_ = (next_ + 1) % kBusyDrains;
  if (seen_ < kBusyDrains) ++seen_;
  if (seen_ < kBusyDrains) return Microseconds{0};
  // The ring is full, so the next place to be written holds the oldest of the last four.
  const Microseconds first = drains_[next_];
  gathering_ = now - first <= kBusySpan;
  return gathering_ ? kPause : Microseconds{0};
}

}  // namespace clutchward
