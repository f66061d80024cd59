// epoll over the watched descriptors, a timer on CLOCK_BOOTTIME and a signal descriptor.
#include "loop/event_loop.h"

#include <poll.h>
#include <pthread.h>
#include <signal.h>
#include <sys/epoll.h>
#include <sys/signalfd.h>
#include <sys/timerfd.h>
#include <time.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <system_error>

namespace clutchward {
namespace {

// More than are watched at all; the rest would come with the next wait.
constexpr int kEvents = 32;

int checked(int result, const char* what) {
  if (result < 0) throw std::system_error(errno, std::generic_category(), what);
  return result;
}

sigset_t our_signals() {
  sigset_t set;
  ::sigemptyset(&set);
  for (const int number : {SIGTERM, SIGINT, SIGHUP}) ::sigaddset(&set, number);
  return set;
}

}  // namespace

bool Wake::has(int descriptor) const {
  return std::find(ready.begin(), ready.end(), descriptor) != ready.end();
}

EventLoop::EventLoop() {
  const sigset_t set = our_signals();
  ::pthread_sigmask(SIG_BLOCK, &set, nullptr);
  ::signal(SIGPIPE, SIG_IGN);
  epoll_ = checked(::epoll_create1(EPOLL_CLOEXEC), "epoll");
  timer_ = checked(::timerfd_create(CLOCK_BOOTTIME, TFD_NONBLOCK | TFD_CLOEXEC), "timer");
  signals_ = checked(::signalfd(-1, &set, SFD_NONBLOCK | SFD_CLOEXEC), "signals");
  watch(timer_);
  watch(signals_);
}

EventLoop::~EventLoop() {
  for (const int descriptor : {signals_, timer_, epoll_}) ::close(descriptor);
}

void EventLoop::watch(int descriptor, bool for_writing) {
  epoll_event event{};
  event.events = for_writing ? EPOLLIN | EPOLLOUT : EPOLLIN;
  event.data.fd = descriptor;
  checked(::epoll_ctl(epoll_, EPOLL_CTL_ADD, descriptor, &event), "watching a descriptor");
}

void EventLoop::forget(int descriptor) { ::epoll_ctl(epoll_, EPOLL_CTL_DEL, descriptor, nullptr); }

void EventLoop::set_timer(std::optional<Steady> deadline) {
  // Most turns leave the deadline where it was; a call into the kernel a turn would cost more.
  if (deadline == timer_set_) return;
  itimerspec setting{};
  if (deadline) {
    // All zero would disarm it; what lies before boot is due at once.
    const Span at = std::max(deadline->time_since_epoch(), Span{1});
    setting.it_value.tv_sec = at.count() / 1000;
    setting.it_value.tv_nsec = at.count() % 1000 * 1'000'000;
  }
  checked(::timerfd_settime(timer_, TFD_TIMER_ABSTIME, &setting, nullptr), "setting the timer");
  timer_set_ = deadline;
}

void EventLoop::take_signals() {
  signalfd_siginfo info{};
  while (::read(signals_, &info, sizeof info) == static_cast<ssize_t>(sizeof info)) {
    if (info.ssi_signo == SIGHUP)
      wake_.reload = true;
    else
      wake_.terminate = true;
  }
}

const Wake& EventLoop::wait(std::optional<Steady> deadline,
                            std::optional<std::chrono::microseconds> at_most) {
  wake_.ready.clear();
  wake_.deadline = wake_.terminate = wake_.reload = false;
  set_timer(deadline);
  if (at_most && at_most->count() > 0) {
    // epoll_wait counts milliseconds; its descriptor can be polled with a finer limit.
    pollfd all{epoll_, POLLIN, 0};
    const timespec limit{static_cast<time_t>(at_most->count() / 1'000'000),
                         static_cast<long>(at_most->count() % 1'000'000 * 1000)};
    ::ppoll(&all, 1, &limit, nullptr);
  }
  std::array<epoll_event, kEvents> events;
  const int count = ::epoll_wait(epoll_, events.data(), kEvents, at_most ? 0 : -1);
  if (count < 0 && errno != EINTR) checked(count, "waiting");
  for (int i = 0; i < count; ++i) {
    const int descriptor = events[static_cast<std::size_t>(i)].data.fd;
    if (descriptor == timer_) {
      std::uint64_t expirations = 0;
      [[maybe_unused]] const ssize_t got = ::read(timer_, &expirations, sizeof expirations);
      wake_.deadline = true;
      timer_set_.reset();
    } else if (descriptor == signals_) {
      take_signals();
    } else {
      wake_.ready.push_back(descriptor);
    }
  }
  return wake_;
}

}  // namespace clutchward
