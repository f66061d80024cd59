// Speaks through libsystemd, which knows every form of the notification socket.
#include "loop/service.h"

#include <systemd/sd-daemon.h>
#include <time.h>

#include <string>

namespace clutchward {

void service_ready() { ::sd_notify(0, "READY=1"); }

void service_reloading() {
  // The protocol wants CLOCK_MONOTONIC in microseconds, which stands still in a suspend where our
  // boot clock does not.
  timespec time{};
  ::clock_gettime(CLOCK_MONOTONIC, &time);
  ::sd_notifyf(0, "RELOADING=1\nMONOTONIC_USEC=%lld",
               static_cast<long long>(time.tv_sec) * 1'000'000 + time.tv_nsec / 1000);
}

void service_stopping() { ::sd_notify(0, "STOPPING=1"); }

void service_status(std::string_view line) {
  std::string text = "STATUS=";
  for (const char c : line) text += static_cast<unsigned char>(c) < 0x20 || c == 0x7F ? ' ' : c;
  ::sd_notify(0, text.c_str());
}

Watchdog::Watchdog() {
  std::uint64_t microseconds = 0;
  if (::sd_watchdog_enabled(0, &microseconds) > 0)
    limit_ = Span(static_cast<std::int64_t>(microseconds / 1000));
}

std::optional<Span> Watchdog::interval() const {
  if (!limit_) return std::nullopt;
  return *limit_ / 3;
}

bool Watchdog::feed(Steady now) {
  if (!limit_ || (last_ && now < *last_ + *interval())) return false;
  last_ = now;
  ::sd_notify(0, "WATCHDOG=1");
  return true;
}

std::optional<Steady> Watchdog::next() const {
  if (!limit_) return std::nullopt;
  return last_ ? *last_ + *interval() : Steady{};
}

}  // namespace clutchward
