// The hand-over between the MQTT library's thread and the loop: bytes are copied into an arena, the
// loop swaps the whole arena and walks it. It understands nothing of what it carries, never logs,
// never waits and never allocates after construction.
#pragma once

#include <array>
#include <atomic>
#include <chrono>
#include <cstddef>
#include <cstdint>
#include <cstring>
#include <memory>
#include <mutex>
#include <string_view>

#include "base/limits.h"
#include "base/time.h"

namespace clutchward {

// Both clocks, read together. Only loop/ names a clock; it hands this function in.
struct Stamp {
  Steady steady{};
  Wall wall{};
};
using StampFunction = Stamp (*)() noexcept;

enum class LinkState : std::uint8_t {
  connected,             // the broker has accepted us; text is the protocol's version
  lost,                  // an established link ended; text says why
  unreachable,           // no link came about: network, name, TLS or time-out; text says why
  refused,               // the broker answered and said no (password, client id); text says why
  taken_over,            // somebody else uses our client id; text says how it was recognised
  subscription_refused,  // topic is the filter
  publish_refused,       // topic is what we may not publish to
  subscription_granted,  // topic is the filter
};

// One thing that arrived, as a view into the drained arena.
struct Incoming {
  enum class Kind : std::uint8_t { reading, command, link };
  Kind kind = Kind::reading;
  LinkState link = LinkState::connected;  // kind link
  bool retained = false;
  std::uint8_t qos = 0;
  Stamp stamp;
  std::string_view topic;
  std::string_view payload;  // kind link: the sentence for people
  // MQTT 5, commands only; "" where the sender gave none.
  std::string_view response_topic;
  std::string_view correlation;
};

// A fixed stretch of bytes filled from the front.
class Arena {
 public:
  explicit Arena(std::size_t capacity);
  // False where it does not fit; then nothing was written.
  bool append(const Incoming& item, std::uint32_t sequence, std::size_t keep_free) noexcept;
  bool at_end(std::size_t offset) const { return offset >= used_; }
  std::uint32_t sequence_at(std::size_t offset) const;
  // Reads the record at `offset` and moves `offset` behind it.
  Incoming read(std::size_t& offset) const;
  std::size_t count() const { return count_; }
  // Gives back to the system what a burst took of memory, but for what is kept warm.
  void clear() noexcept;
  // Gives back that, too, where nothing is held.
  void rest() noexcept;

 private:
  void give_back(std::size_t keep) noexcept;  // what lies behind `keep`

  std::unique_ptr<std::byte[]> bytes_;
  std::size_t capacity_;
  std::size_t used_ = 0;
  std::size_t count_ = 0;
  std::size_t touched_ = 0;  // bytes that may be resident
};

// What one drain brought, in order of arrival over readings, commands and link changes. Valid until
// the next drain.
class Drained {
 public:
  Drained(const Arena& readings, const Arena& commands)
      : readings_(readings), commands_(commands) {}
  std::size_t size() const { return readings_.count() + commands_.count(); }

  template <class Visit>
  void for_each(Visit&& visit) const {
    std::size_t reading = 0;
    std::size_t command = 0;
    while (!readings_.at_end(reading) || !commands_.at_end(command)) {
      if (commands_.at_end(command) ||
          (!readings_.at_end(reading) &&
           before(readings_.sequence_at(reading), commands_.sequence_at(command))))
        visit(readings_.read(reading));
      else
        visit(commands_.read(command));
    }
  }

 private:
  // Sequence numbers wrap; within one drain they are never half the circle apart.
  static bool before(std::uint32_t a, std::uint32_t b) {
    return static_cast<std::int32_t>(a - b) < 0;
  }
  const Arena& readings_;
  const Arena& commands_;
};

class Inbox {
 public:
  // Sizes in bytes of one buffer; there are two of each. Memory is touched only as it is used.
  // Throws std::system_error where no event descriptor is to be had.
  explicit Inbox(std::size_t reading_bytes = limits::kInboxBytes,
                 std::size_t command_bytes = limits::kCommandInboxBytes);
  ~Inbox();
  Inbox(const Inbox&) = delete;
  Inbox& operator=(const Inbox&) = delete;

  // Any thread. Copies; what does not fit is dropped and counted. A payload past its limit is cut
  // one byte behind the limit, so that whoever decodes it sees that it was too long; a topic past
  // its limit is dropped. Readings and commands fill separate arenas, and link changes have a
  // reserve in the readings' arena that no reading takes.
  void push(const Incoming& item) noexcept;

  // The loop's thread from here on.
  // Readable once something came after arm(). To be watched by the loop.
  int descriptor() const { return event_; }
  // To be called before waiting: true if there is nothing to drain, and the next push will then
  // make descriptor() readable; false if a drain would bring something.
  bool arm() noexcept;
  // Swaps and returns what came; ends the effect of arm().
  Drained drain() noexcept;

  // What the last drain() brought is done with: its memory and what was kept warm goes back.
  void rest() noexcept;

  // Totals since the start, any thread.
  std::uint64_t dropped_readings() const noexcept { return dropped_readings_.load(); }
  std::uint64_t dropped_commands() const noexcept { return dropped_commands_.load(); }
  std::uint64_t dropped_links() const noexcept { return dropped_links_.load(); }

 private:
  std::mutex mutex_;
  std::array<Arena, 2> readings_;
  std::array<Arena, 2> commands_;
  std::size_t filling_ = 0;
  std::uint32_t sequence_ = 0;
  bool armed_ = false;
  std::uint64_t wakes_ = 0;  // written to event_, or about to be, and not yet read
  int event_ = -1;
  std::atomic<std::uint64_t> dropped_readings_{0};
  std::atomic<std::uint64_t> dropped_commands_{0};
  std::atomic<std::uint64_t> dropped_links_{0};
};

// Whether the loop should let messages gather before it drains again. One wake-up a message costs
// more than the message; a pause of half a millisecond while busy takes it away, and at a thousand
// messages a second nothing is ever held back.
class GatherPace {
 public:
  using Microseconds = std::chrono::microseconds;
  // Measured with prototypes on two cores: halves the cost of a flood, and no keeper can tell.
  static constexpr Microseconds kPause{500};
  // This many drains within kBusySpan mean that wake-ups are the cost.
  static constexpr std::size_t kBusyDrains = 4;
  static constexpr Microseconds kBusySpan{1000};

  // To be called after each drain with the time since boot and the messages it brought; returns
  // how long to gather before the next drain, zero for not at all.
  Microseconds after_drain(Microseconds now, std::size_t messages);

 private:
  std::array<Microseconds, kBusyDrains> drains_{};
  std::size_t next_ = 0;
  std::size_t seen_ = 0;
  bool gathering_ = false;
};

}  // namespace clutchward
