// What the daemon tells systemd: ready, reloading, stopping, one line of health, signs of life.
// Without systemd every call does nothing.
#pragma once

#include <optional>
#include <string_view>

#include "base/time.h"

namespace clutchward {

// All in the form of sd_notify(3). Messages that cannot be sent are lost: the service manager is
// gone then, or was never there.
void service_ready();
// RELOADING=1 with the time that systemd wants beside it; service_ready() ends it.
void service_reloading();
void service_stopping();
// Shown by systemctl status; control characters are taken out.
void service_status(std::string_view line);

// The watchdog of the unit that this process is the main one of. It is fed by the loop's turns
// alone: a loop that stands still is restarted.
class Watchdog {
 public:
  // Reads WATCHDOG_USEC and WATCHDOG_PID.
  Watchdog();
  // `limit` as systemd would give it, none for no watchdog.
  explicit Watchdog(std::optional<Span> limit) : limit_(limit) {}

  // How often to feed: a third of the limit, so that one late turn is no restart. None: never.
  std::optional<Span> interval() const;
  // True, and fed, if the interval has passed since the last time; to be called each turn.
  bool feed(Steady now);
  // When feed() will next do something, for the loop's deadline.
  std::optional<Steady> next() const;

 private:
  std::optional<Span> limit_;
  std::optional<Steady> last_;
};

}  // namespace clutchward
