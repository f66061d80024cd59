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
    const Notification note = write_planned_test(*test, {settings_, zone_, now.wall});
    for (const std::string& contact : test->notify) {
      const auto channels = settings_.contacts.find(contact);
      if (channels == settings_.contacts.end()) continue;
      // Every way, whatever it is kept for; but a ring beats by itself, and would not be answered.
      for (std::size_t i = 0; i < channels->second.size(); ++i)
        if (!channels->second[i].ring)
          announcer_->tell_over(contact, static_cast<int>(i), note, now);
    }
    test_round_.told(now.wall);
  }
  // Durable together with the message: a restart neither repeats nor loses it.
  if (test_round_.last() != before) own_changes_.push_back({kTestKey, test_round_.keep()});
}

}  // namespace clutchward
