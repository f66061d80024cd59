// What comes of a turn: changes made durable first, then events told, commands answered, messages
// sent, pictures published.
#include <malloc.h>

#include <array>
#include <cstdlib>
#include <utility>

#include "app/daemon.h"
#include "app/history_keeper.h"
#include "app/log.h"
#include "base/limits.h"
#include "wire/event_json.h"
#include "wire/picture_json.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

constexpr Span kHistory = 1min;  // the engine closes a minute no sooner
constexpr Span kRecords = 4h;
const char* const kNoHistory = "THE HISTORY CANNOT BE WRITTEN";
// Of thousands of cabinets so many pictures or records are made at a time, lest all stand in memory
// at once; the next ones this much later.
constexpr std::size_t kAtOnce = 256;
constexpr Span kSoon = 20ms;
// After the last of a burst: when the loop is done with it, other threads, the history's commit.
constexpr std::array<Span, 3> kCalm{2s, 10s, 90s};
constexpr Span kPictures = 1s;  // a cabinet's picture at most once a second

void log_event(const AlarmEvent& event) {
  spdlog::info("{} {} {}: {}{}{}", event.key.cabinet.empty() ? "site" : event.key.cabinet,
               event.key.batch.empty() ? "-" : event.key.batch, event.key.alarm,
               name_of(event.kind), event.value ? " at " + milli_exact(*event.value) : "",
               event.by ? " by " + printable(*event.by) : "");
}

// The C library keeps seven freed pieces of each small size for this thread, strewn over a hundred
// pages of a burst, which could else go back. Seven new ones side by side take their place.
void renew_thread_cache() {
  constexpr std::size_t kSizes = 64;
  constexpr std::size_t kEach = 7;
  std::array<void*, kSizes * kEach> strewn;
  std::array<void*, kSizes * kEach> fresh;
  const auto take = [](auto& pieces) {
    for (std::size_t i = 0; i < pieces.size(); ++i) pieces[i] = std::malloc(24 + i / kEach * 16);
  };
  take(strewn);
  take(fresh);
  for (void* piece : fresh) std::free(piece);
  for (void* piece : strewn) std::free(piece);
}

}  // namespace

void Daemon::decide(Moment now) {
  engine_->settle(now);
  auto events = engine_->take_events();
  for (const AlarmEvent& event : events) {
    log_event(event);
    if (history_) note_event(*engine_, event, history_rows_);
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
  if (auto faults = faults_->take_changed())
    changes.push_back({ServiceFaults::kKey, std::move(*faults)});
  for (Change& change : std::exchange(own_changes_, {})) changes.push_back(std::move(change));
  Promises promises{turn_, std::move(events_), std::move(answers_), announcer_->take_due(now)};
  events_.clear();
  answers_.clear();
  replies_.note(promises.messages, settings_, now.wall);
  for (Change& change : replies_.take_changes()) changes.push_back(std::move(change));
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
      message.links.reply_to = replies_.address_for(message, settings_);
      note_told(message, now);
      if (rings_.serves(message)) {
        rings_.take(message, now);
        continue;
      }
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

void Daemon::start_history() {
  engine_->keep_minutes(settings_.history.keep.has_value());
  if (!settings_.history.keep) {
    if (history_) history_->stop();
    history_.reset();
    history_rows_ = {};
    told_marked_ = false;
  } else if (history_) {
    history_->keep_for(*settings_.history.keep);
  } else {
    HistoryOptions options;
    options.path = options_.state + "/history.db";
    options.keep = *settings_.history.keep;
    owe_records(options.path);
    history_ = std::make_shared<History>(std::move(options));
    records_at_ = {};
  }
}

// Which records the history lacks. One that ended and stands in it as it is stays untouched there.
void Daemon::owe_records(const std::string& path) {
  handed_.clear();
  HistoryFile file;
  const bool there = !file.open(path, HistoryFile::For::reading);
  for (std::string& batch : engine_->records()) {
    const auto record = engine_->record(batch);
    if (there && record && record->ended_at && holds_record(file, *record))
      engine_->record_is_kept(batch);
    else
      changed_records_.insert(std::move(batch));
  }
}

// A record changes with every turn of the eggs: every few hours is enough for those, but a batch
// that ended is written at once, since its report is asked for then.
void Daemon::keep_records(Moment now, bool everything) {
  std::vector<std::string> due;
  for (std::string& batch : engine_->take_changed_records()) {
    const auto record = engine_->record(batch);
    if (record && record->ended_at) due.push_back(batch);
    changed_records_.insert(std::move(batch));
  }
  if (!records_done_ && now.steady >= records_at_) {
    records_at_ = now.steady + kRecords;
    records_done_ = "";
  }
  if (everything) {
    due.assign(changed_records_.begin(), changed_records_.end());
  } else if (records_done_) {
    auto next = changed_records_.upper_bound(*records_done_);
    for (; next != changed_records_.end() && due.size() < kAtOnce; ++next) due.push_back(*next);
    if (next == changed_records_.end())
      records_done_.reset();
    else
      records_done_ = due.back();
  }
  for (const std::string& batch : due) {
    changed_records_.erase(batch);
    if (engine_->record(batch)) ++handed_[batch];
  }
  take_records(*engine_, settings_, due, history_rows_);
  for (const std::string& batch : history_->take_kept()) {
    if (--handed_[batch] > 0) continue;
    handed_.erase(batch);
    if (!changed_records_.contains(batch)) engine_->record_is_kept(batch);
  }
}

// Hands the finished minutes to the history's thread.
void Daemon::keep_history(Moment now, bool everything) {
  if (!history_ || (now.steady < history_at_ && !everything)) return;
  take_history(*engine_, everything, history_rows_);
  if (wall_trusted_)
    keep_records(now, everything);
  else  // nobody knows when that was; a machine without a clock does not gather it for ever
    drop_oldest(history_rows_, limits::kHistoryRowsACommit);
  history_at_ = now.steady + (records_done_ ? kSoon : kHistory);
  if (history_rows_.size() > kAtOnce) burst(now);
  if (wall_trusted_ && !told_marked_) {
    history_rows_.told_from = now.wall - (now.steady - started_);
    told_marked_ = true;
  }
  if (wall_trusted_ && history_rows_.size() > 0)
    history_->add(std::exchange(history_rows_, {}), now.wall);
  for (const std::string& note : history_->take_notes())
    spdlog::error("history: {}", printable(note, 500));
  const std::string trouble = history_->trouble();
  if (trouble.empty())
    faults_->seems_over(kNoHistory, now);
  else
    faults_->begins(kNoHistory, trouble + ". Alarms are watched and told all the same.",
                    "Look at the disk or card: full or worn?", Urgency::medium, now);
}

void Daemon::publish_pictures(Moment now) {
  if (now.steady < pictures_at_ || !engine_->has_dirty_cabinets()) return;
  for (const std::string& cabinet : engine_->take_dirty_cabinets(kAtOnce))
    if (const auto view = engine_->view(cabinet))
      mqtt_->publish_picture(settings_.broker.base + "/cabinets/" + cabinet, to_json(*view));
  const bool more = engine_->has_dirty_cabinets();
  pictures_at_ = now.steady + (more ? kSoon : kPictures);
  if (more) burst(now);
}

// Memory goes back once it is over.
void Daemon::burst(Moment now) {
  trim_at_ = now.steady + kCalm.front();
  trims_ = 0;
}

// What thousands of pictures and rows took for a moment the allocator would keep for ever.
void Daemon::give_memory_back(Moment now) {
  if (web_->gathers()) burst(now);
  if (!trim_at_ || now.steady < *trim_at_) return;
  trim_at_.reset();
  if (++trims_ < kCalm.size()) trim_at_ = now.steady + kCalm[trims_];
  inbox_.rest();
  renew_thread_cache();
  malloc_trim(0);
}

}  // namespace clutchward
