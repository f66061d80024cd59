// What comes of a turn: changes made durable first, then events told, commands answered, messages
// sent, pictures published.
#include <utility>

#include "app/daemon.h"
#include "app/log.h"
#include "wire/event_json.h"
#include "wire/picture_json.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

constexpr Span kPictures = 1s;  // a cabinet's picture at most once a second (architecture)

void log_event(const AlarmEvent& event) {
  spdlog::info("{} {} {}: {}{}{}", event.key.cabinet.empty() ? "site" : event.key.cabinet,
               event.key.batch.empty() ? "-" : event.key.batch, event.key.alarm,
               name_of(event.kind), event.value ? " at " + milli_exact(*event.value) : "",
               event.by ? " by " + printable(*event.by) : "");
}

}  // namespace

void Daemon::decide(Moment now) {
  engine_->settle(now);
  auto events = engine_->take_events();
  for (const AlarmEvent& event : events) {
    log_event(event);
    if (!event.key.cabinet.empty()) dirty_.insert(event.key.cabinet);
  }
  if (!events.empty()) {
    announcer_->tell(events, *engine_, now);
    pictures_at_ = now.steady;  // an alarm does not wait for the picture's second
  }
  for (const std::string& cabinet : engine_->take_attending_ended())
    announcer_->attending_ended(cabinet, *engine_, now);
  for (const TestRequest& test : engine_->take_tests())
    announcer_->tell_test(test.contact, test.by, now);
  for (const std::string& note : engine_->take_notes()) spdlog::info("{}", printable(note, 500));
  announcer_->advance(*engine_, now);
  events_ = std::move(events);
}

// One durable step for the turn: alarms, their outbox entries and the ids of commands together.
void Daemon::keep(Moment now) {
  std::vector<Change> changes = engine_->take_changes();
  for (Change& change : announcer_->take_changes(now)) changes.push_back(std::move(change));
  for (Change& change : web_->take_changes()) changes.push_back(std::move(change));
  for (Change& change : std::exchange(own_changes_, {})) changes.push_back(std::move(change));
  Promises promises{turn_, std::move(events_), std::move(answers_), announcer_->take_due(now)};
  events_.clear();
  answers_.clear();
  if (!changes.empty()) {
    promises.turn = ++turn_;
    store_->submit(turn_, now.wall, std::move(changes));
  }
  // Without changes of its own a promise still waits for the turns before it.
  if (!promises.empty()) pending_.add(std::move(promises));
}

// An alarm that a restart may forget is better than one that waits for a broken disk.
void Daemon::carry_out(Moment now) {
  const std::uint64_t may_go = saving_trouble(now) ? turn_ : store_->saved();
  for (Promises& promises : pending_.release(may_go)) {
    for (const AlarmEvent& event : promises.events)
      mqtt_->publish(settings_.broker.base + "/events", to_json(event));
    web_->tell(promises.events);
    for (const OwedAnswer& answer : promises.answers) answer.give(answer.reply);
    for (Notification& message : promises.messages) {
      message.links = web_->links_for(message);
      deliveries_.sent(message);
      outward_->submit(std::move(message));
    }
  }
}

// One line of health for `systemctl status`.
void Daemon::publish_status_line() {
  std::size_t waiting = announcer_->waiting().size();
  service_status(std::to_string(engine_->cabinets().size()) + " cabinets, broker " +
                 (linked_ ? "connected" : "away") + ", state " +
                 (store_->status().writable ? "saved" : "NOT saved") + ", " +
                 std::to_string(waiting) + " messages waiting");
}

void Daemon::publish_pictures(Moment now) {
  for (std::string& cabinet : engine_->take_dirty_cabinets()) dirty_.insert(std::move(cabinet));
  if (dirty_.empty() || now.steady < pictures_at_) return;
  pictures_at_ = now.steady + kPictures;
  for (const std::string& cabinet : std::exchange(dirty_, {}))
    if (const auto view = engine_->view(cabinet))
      mqtt_->publish_picture(settings_.broker.base + "/cabinets/" + cabinet, to_json(*view));
}

}  // namespace clutchward
