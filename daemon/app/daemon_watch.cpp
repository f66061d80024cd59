// What tells people and outside watchers that the watch itself lives: the daily line and the beats;
// and what is to be done with the batches today.
#include <cmath>
#include <utility>

#include "app/batch_standing.h"
#include "app/daemon.h"
#include "app/log.h"
#include "notification/daily.h"
#include "notification/tasks.h"

namespace clutchward {
namespace {

constexpr const char* kDaily = "site/daily";
constexpr const char* kTasks = "site/tasks";

}  // namespace

std::vector<DailyCabinet> daily_cabinets(const Engine& engine, const std::vector<std::string>& ids,
                                         const Manner& manner) {
  std::vector<DailyCabinet> cabinets;
  for (const std::string& id : ids) {
    const auto view = engine.view(id);
    if (!view) continue;
    DailyCabinet cabinet{view->name.empty() ? id : view->name,
                         view->no_data,
                         view->hottest,
                         view->humidity,
                         {},
                         view->alarms};
    for (const BatchView& batch : view->batches) {
      if (!batch.set) continue;
      std::string line =
          batch.id + " day " + milli_text(std::llround(batch.day * 1000), 1) + ", " + batch.stage;
      const auto record = engine.record(batch.id);
      const auto profile = engine.profile_of(batch.id);
      if (record && profile)
        if (const auto next = next_date(*profile, *record, manner.now))
          line += "; next: " + next_text(*next, manner);
      cabinet.batches.push_back(std::move(line));
    }
    cabinets.push_back(std::move(cabinet));
  }
  return cabinets;
}

void Daemon::give_daily_line(Moment now) {
  if (!settings_.daily || !now.wall_trusted) return;  // a calendar waits for a clock it can trust
  if (!daily_told_) note_daily(now.wall);
  if (now.wall < *daily_told_) note_daily(now.wall);  // stepped back: not silent until then
  if (zone_.next_at(*daily_told_, settings_.daily->at) > now.wall) return;
  const Manner manner{settings_, zone_, now.wall};
  std::vector<std::string> faults;
  for (const WatchFault& fault : faults_->view(now)) faults.push_back(fault.what);
  announcer_->tell_people(
      settings_.daily->notify,
      write_daily(daily_cabinets(*engine_, engine_->cabinets(), manner), faults, manner), now);
  note_daily(now.wall);
}

// Durable together with the message: a restart neither repeats nor loses it.
void Daemon::note_daily(Wall at) {
  daily_told_ = at;
  Tree tree = Tree::map();
  tree.add("told", Tree(to_rfc3339(at)));
  own_changes_.push_back({kDaily, std::move(tree)});
}

void Daemon::restore_daily(const Kept& kept) {
  for (const auto& [key, tree] : kept.entries)
    if (key == kDaily) daily_told_ = parse_rfc3339(tree.get("told"));
}

// To those who get the daily line, or to the first step of the escalation.
void Daemon::tell_whom_the_day_concerns(const Notification& note, Moment now) {
  if (settings_.daily)
    announcer_->tell_people(settings_.daily->notify, note, now);
  else if (!settings_.escalation.empty())
    announcer_->tell_people(settings_.escalation.front().notify, note, now);
}

void Daemon::give_tasks(Moment now) {
  const bool first = !tasks_.last();
  const bool due = tasks_.due(now, settings_.daily ? settings_.daily->at : TaskRound::kAt, zone_);
  if (!due && !(first && tasks_.last())) return;
  if (due) {
    std::vector<BatchStanding> batches;
    for (const std::string& id : engine_->records())
      if (auto batch = batch_standing(*engine_, id)) batches.push_back(std::move(*batch));
    const std::vector<Task> tasks = tasks_.take(batches, now.wall, zone_);
    if (!tasks.empty())
      tell_whom_the_day_concerns(write_tasks(tasks, {settings_, zone_, now.wall}), now);
  }
  // Durable together with the message: a restart neither repeats nor loses it.
  own_changes_.push_back({kTasks, tasks_.keep()});
}

void Daemon::give_beats(Moment now) {
  if (beats_.all().empty()) return;  // this is asked every turn
  const Pulse pulse{engine_->counts().accepted, !saving_trouble(now),
                    deliveries_.any_channel_works(settings_)};
  const std::string before = beats_.withheld();
  for (const std::size_t index : beats_.take_due(pulse, now.steady)) {
    const BeatSettings& beat = beats_.all()[index];
    const std::string text = "{\"at\":\"" + to_rfc3339(now.wall) + "\",\"watch\":\"alive\"}";
    if (!beat.topic.empty()) {
      mqtt_->publish(beat.topic, text, /*qos=*/0);
      continue;
    }
    Notification note;
    note.id = "beat-" + std::to_string(++beats_given_);
    note.contact = beat.url;
    note.first_line = text;
    note.made_at = now.wall;
    outside_->submit(std::move(note));
  }
  for (const DeliveryReport& report : outside_->take_reports())
    if (report.outcome != Outcome::delivered)
      spdlog::warn("a beat was not taken: {}", printable(report.detail, 300));
  if (!beats_.all().empty() && before != beats_.withheld())
    spdlog::warn("beats: {}",
                 beats_.withheld().empty() ? "given" : "withheld, " + beats_.withheld());
}

}  // namespace clutchward
