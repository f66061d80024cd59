// Reads the clocks by the system's own names. No decision is taken here.
#include "loop/clocks.h"

#include <time.h>
#include <unistd.h>

#include <algorithm>
#include <string_view>

namespace clutchward {
namespace {

timespec read_clock(clockid_t id) noexcept {
  timespec time{};
  ::clock_gettime(id, &time);
  return time;
}

Span to_span(const timespec& time) {
  return std::chrono::seconds(time.tv_sec) + Span(time.tv_nsec / 1'000'000);
}

}  // namespace

Steady steady_now() noexcept { return Steady(to_span(read_clock(CLOCK_BOOTTIME))); }

Wall wall_now() noexcept { return Wall(to_span(read_clock(CLOCK_REALTIME))); }

Moment now(bool wall_trusted) noexcept { return {steady_now(), wall_now(), wall_trusted}; }

std::chrono::microseconds fine_now() noexcept {
  const timespec time = read_clock(CLOCK_BOOTTIME);
  return std::chrono::seconds(time.tv_sec) + std::chrono::microseconds(time.tv_nsec / 1000);
}

Wall build_time() {
  // The compiler's form is "Mmm dd yyyy", blank-padded; SOURCE_DATE_EPOCH sets it where builds are
  // to be the same. The day's start is early enough: less is surely wrong.
  constexpr std::string_view date = __DATE__;
  constexpr std::string_view months = "JanFebMarAprMayJunJulAugSepOctNovDec";
  const auto digit = [](char c) { return c == ' ' ? 0 : c - '0'; };
  const auto month = static_cast<unsigned>(months.find(date.substr(0, 3)) / 3 + 1);
  const auto day = static_cast<unsigned>(digit(date[4]) * 10 + digit(date[5]));
  int year = 0;
  for (const char c : date.substr(7)) year = year * 10 + digit(c);
  return std::chrono::sys_days(std::chrono::year(year) / std::chrono::month(month) /
                               std::chrono::day(day));
}

bool clock_was_set() {
  // systemd-timesyncd(8): this file is there once the clock was set from the network since boot.
  // Asking the kernel (adjtimex) is barred to a service that may not touch the clock.
  return ::access("/run/systemd/timesync/synchronized", F_OK) == 0;
}

bool wall_is_trusted(Wall now, std::optional<Wall> last_saved, bool was_set, Wall built) {
  return was_set || now >= std::max(built, last_saved.value_or(built));
}

bool wall_is_trusted(std::optional<Wall> last_saved) {
  return wall_is_trusted(wall_now(), last_saved, clock_was_set(), build_time());
}

std::optional<Span> StepDetector::turn(const Moment& moment) {
  const Span offset = moment.wall.time_since_epoch() - moment.steady.time_since_epoch();
  const Span step = offset_ ? offset - *offset_ : Span{0};
  offset_ = offset;
  if (step > kStep || step < -kStep) return step;
  return std::nullopt;
}

}  // namespace clutchward
