// The test message that comes by the calendar: whether every way to the people named still works.
// A way that does not take it is told like any channel that fails (daemon_faults.cpp).
#include "app/daemon.h"
#include "app/log.h"
#include "notification/planned_test.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

constexpr Span kLook = 10s;  // a calendar need not be looked at in every turn

}  // namespace

void Daemon::give_test(Moment now) {
  const auto& test = settings_.watch.test;
  if (!test || now.steady < test_at_) return;
  test_at_ = now.steady + kLook;
  const std::optional<Wall> before = test_round_.last();
  if (test_round_.due(now, *test, zone_)) {
    spdlog::info("the planned test message goes out");
    announcer_->tell_people(test->notify, write_planned_test(*test, {settings_, zone_, now.wall}),
                            now);
    test_round_.told(now.wall);
  }
  // Durable together with the message: a restart neither repeats nor loses it.
  if (test_round_.last() != before) own_changes_.push_back({kTestKey, test_round_.keep()});
}

}  // namespace clutchward
