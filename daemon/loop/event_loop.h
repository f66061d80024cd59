// Waits for whatever comes first: a watched descriptor, the next deadline, a signal. It calls
// nobody back: it says what happened, and its caller does the turn.
#pragma once

#include <chrono>
#include <cstdint>
#include <optional>
#include <vector>

#include "base/time.h"

namespace clutchward {

struct Wake {
  std::vector<int> ready;  // watched descriptors with something to do
  bool deadline = false;   // the deadline has passed
  bool terminate = false;  // SIGTERM or SIGINT
  bool reload = false;     // SIGHUP
  bool has(int descriptor) const;
};

class EventLoop {
 public:
  // Blocks SIGTERM, SIGINT and SIGHUP, which wait() then reports, and ignores SIGPIPE: to be made
  // before any thread. Throws std::system_error where the system has no descriptors left.
  EventLoop();
  ~EventLoop();
  EventLoop(const EventLoop&) = delete;
  EventLoop& operator=(const EventLoop&) = delete;

  // Level-triggered. A descriptor is watched once and forgotten before it is closed.
  void watch(int descriptor, bool for_writing = false);
  void forget(int descriptor);

  // Sleeps until `deadline` (on the boot clock, so through suspends; none: for ever), at most
  // `at_most` if that is given (zero: only looks). The answer is valid until the next call.
  const Wake& wait(std::optional<Steady> deadline,
                   std::optional<std::chrono::microseconds> at_most = std::nullopt);

 private:
  void set_timer(std::optional<Steady> deadline);
  void take_signals();

  int epoll_ = -1;
  int timer_ = -1;
  int signals_ = -1;
  std::optional<Steady> timer_set_;
  Wake wake_;
};

}  // namespace clutchward
