// What ends a wait: a descriptor, a deadline, a signal, a limit.
#include "loop/event_loop.h"

#include <gtest/gtest.h>
#include <signal.h>
#include <sys/eventfd.h>
#include <unistd.h>

#include "loop/clocks.h"

namespace clutchward {
namespace {

using std::chrono::microseconds;

TEST(EventLoop, ReportsWatchedDescriptors) {
  EventLoop loop;
  const int event = ::eventfd(0, EFD_NONBLOCK);
  loop.watch(event);
  EXPECT_TRUE(loop.wait(std::nullopt, microseconds{0}).ready.empty());
  ASSERT_EQ(0, ::eventfd_write(event, 1));
  const Wake& wake = loop.wait(std::nullopt);
  EXPECT_TRUE(wake.has(event));
  EXPECT_FALSE(wake.deadline || wake.terminate || wake.reload);
  loop.forget(event);
  EXPECT_TRUE(loop.wait(std::nullopt, microseconds{0}).ready.empty());
  ::close(event);
}

TEST(EventLoop, WakesAtTheDeadlineAndNotBefore) {
  EventLoop loop;
  const Steady deadline = steady_now() + Span{30};
  EXPECT_TRUE(loop.wait(deadline).deadline);
  EXPECT_GE(steady_now(), deadline);
  EXPECT_TRUE(loop.wait(Steady{}).deadline);  // long past, even at boot itself
  EXPECT_TRUE(loop.wait(deadline).deadline);  // past: again, each time it is asked for
  EXPECT_TRUE(loop.wait(deadline).deadline);
  EXPECT_FALSE(loop.wait(std::nullopt, microseconds{0}).deadline);
}

TEST(EventLoop, ADeadlineThatWasMovedDoesNotWakeAnyMore) {
  EventLoop loop;
  // Again where a busy machine let it pass before the wait had begun.
  int tries = 10;
  while (loop.wait(steady_now() + Span{300}, microseconds{0}).deadline) ASSERT_GT(--tries, 0);
  const Steady later = steady_now() + Span{60'000};
  EXPECT_FALSE(loop.wait(later, microseconds{600'000}).deadline);
}

TEST(EventLoop, KeepsTheLimitOfAGather) {
  EventLoop loop;
  const auto before = fine_now();
  const Wake& wake = loop.wait(steady_now() + Span{60'000}, microseconds{500});
  EXPECT_GE(fine_now() - before, microseconds{500});
  EXPECT_TRUE(wake.ready.empty());
  EXPECT_FALSE(wake.deadline);
}

TEST(EventLoop, ReportsSignals) {
  EventLoop loop;
  ::raise(SIGHUP);
  const Wake& reload = loop.wait(std::nullopt);
  EXPECT_TRUE(reload.reload);
  EXPECT_FALSE(reload.terminate);
  ::raise(SIGTERM);
  ::raise(SIGINT);
  EXPECT_TRUE(loop.wait(std::nullopt).terminate);
  EXPECT_FALSE(loop.wait(std::nullopt, microseconds{0}).terminate);
  ::raise(SIGPIPE);  // ignored: writing to whoever hung up ends nothing
}

}  // namespace
}  // namespace clutchward
