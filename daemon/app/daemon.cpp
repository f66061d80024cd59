// The loop: what a turn is, in order. Each step stands in a file of its own.
#include "app/daemon.h"

#include <sysexits.h>
#include <unistd.h>

#include <algorithm>
#include <utility>

#include "app/log.h"
#include "base/text.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

// How long a clean stop may wait for the broker and the disk; the unit's TimeoutStopSec is longer.
constexpr Span kStop = 5s;
// At least this often the loop looks at its own health, although nothing is due.
constexpr Span kIdle = 10s;
constexpr Span kUnfed = 500ms;
constexpr Span kRounds = 1s;
// As long as a probe stays fresh by default.
constexpr Span kKeepReadings = 5min;

}  // namespace

Moment Daemon::time() {
  const bool was_trusted = wall_trusted_;
  if (!wall_trusted_) wall_trusted_ = wall_is_trusted(last_saved_);
  Moment now = clutchward::now(wall_trusted_);
  if (const auto step = steps_.turn(now)) {
    if (was_trusted) stepped_ = step;  // otherwise it is the setting that was waited for
    spdlog::warn("the wall clock was stepped by {}{}; delays and snoozes run on unharmed",
                 step->count() < 0 ? "-" : "", to_text(Span(std::abs(step->count()))));
  }
  return now;
}

std::optional<Steady> Daemon::next_deadline() const {
  const Steady now = steady_now();
  Steady next = now + kIdle;
  for (const auto& each :
       {engine_->next_deadline(), announcer_->next_deadline(), beats_.next_deadline()})
    if (each) next = std::min(next, *each);
  // Overdue where the state cannot be written: then it is looked at again, not spun on.
  if (const auto feed = watchdog_.next()) next = std::min(next, std::max(*feed, now + kUnfed));
  if (store_->saved() < turn_) next = std::min(next, now + kUnfed);
  if (engine_->has_dirty_cabinets()) next = std::min(next, pictures_at_);
  if (const auto ring = rings_.next_deadline()) next = std::min(next, std::max(*ring, now));
  if (const auto web = web_->timeout()) next = std::min(next, now + *web);
  return next;
}

int Daemon::run() {
  service_ready();
  spdlog::info("watching {} for {}", settings_.broker.url, printable(settings_.site));
  for (;;) {
    std::optional<std::chrono::microseconds> at_most;
    if (pause_ > 0us)
      at_most = pause_;  // messages gather: no wake-up for each
    else if (!inbox_.arm())
      at_most = 0us;
    const Wake& wake = loop_.wait(next_deadline(), at_most);
    if (wake.terminate) break;
    turn(wake);
  }
  service_stopping();
  spdlog::info("stopping");
  engine_->keep_readings();
  keep(time());
  keep_history(time(), /*everything=*/true);
  // First the disk: what was decided in the last turn is then told and answered, too.
  store_->stop();
  carry_out(time());
  const bool let_go = mqtt_->stop(kStop);
  outward_->stop();
  outside_->stop();
  replies_.stop();
  if (history_) {
    history_->stop();
    for (const std::string& note : history_->take_notes())
      spdlog::error("history: {}", printable(note, 500));
  }
  if (!let_go) {
    // A thread of the library still holds on to the inbox: nothing may be taken from under it.
    spdlog::warn("the broker did not let go in time");
    spdlog::shutdown();
    ::_exit(EX_OK);
  }
  return EX_OK;
}

// What goes by the minute or the day: a second more or less is nothing, work every turn is.
void Daemon::make_rounds(Moment now) {
  rounds_at_ = now.steady + kRounds;
  faults_->settle(now);
  if (now.steady >= readings_at_) {
    readings_at_ = now.steady + kKeepReadings;
    engine_->keep_readings_of_alarms();
  }
  watch_the_limits(now);
  watch_the_channels(now);
  watch_the_clock(now);
  look_after_the_page(now);
  look_for_absence(now);
  give_daily_line(now);
  give_tasks(now);
  give_test(now);
}

void Daemon::turn(const Wake& wake) {
  const Moment now = time();
  watch_the_pace(now);
  if (wake.reload) reload(now);
  take_messages(now);
  take_reports(now);
  take_replies(now);
  take_ring_reports(now);
  reader_->turn();
  papers_->turn();
  web_->turn();
  watch_the_watch(wake, now);
  give_beats(now);
  if (now.steady >= rounds_at_) make_rounds(now);
  decide(now);
  keep(now);
  carry_out(now);
  ring(now);
  publish_pictures(now);
  keep_history(now, /*everything=*/false);
  give_memory_back(now);
}

}  // namespace clutchward
