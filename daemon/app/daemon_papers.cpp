// Reports and what happened, for the pages: asked by the loop, read and made by the thread of a
// reader of their own, so that no curve waits for a report.
#include <algorithm>
#include <set>

#include "app/daemon.h"
#include "app/event_look.h"
#include "app/history_keeper.h"
#include "app/report_look.h"

namespace clutchward {
namespace {

constexpr const char* kNoHistory = "no history is kept: history is off";
constexpr std::size_t kSmallSite = 256;

}  // namespace

// Records as the engine has them, the running ones above all; the file has the others.
void Daemon::ask_report(ReportWanted wanted, std::function<void(Report)> done) {
  const auto made = std::make_shared<ReportMade>();
  if (!history_) {
    made->trouble = kNoHistory;
    made->unknown = true;
    return done(made);
  }
  std::set<std::string> cabinets;
  for (const std::string& batch : wanted.batches)
    if (const auto record = engine_->record(batch)) {
      cabinets.insert(record->cabinet);
      for (const Relocation& move : record->moves) cabinets.insert({move.from, move.to});
    }
  HistoryRows waiting = waiting_of({cabinets.begin(), cabinets.end()});
  take_records(*engine_, settings_, wanted.batches, waiting);
  const bool asked = papers_->ask(
      [made, wanted = std::move(wanted), waiting = std::move(waiting), zone = zone_](
          const HistoryFile* file, const std::string& why) {
        *made = look_at_report(file, why, waiting, wanted, zone);
      },
      [made, done] { done(made); });
  if (!asked) done(nullptr);
}

// The thread that reads waits for the one that writes.
void Daemon::commit_history(std::function<void(std::string)> done) {
  if (!history_) return done(kNoHistory);
  // A large site's records go to the file in rounds: all at once would hold the loop up.
  history_at_ = {};
  keep_history(time(), /*everything=*/engine_->cabinets().size() <= kSmallSite);
  const auto trouble = std::make_shared<std::string>();
  const bool asked = papers_->ask(
      [history = history_, trouble](const HistoryFile*, const std::string&) {
        history->commit_now();
        *trouble = history->trouble();
      },
      [trouble, done] { done(*trouble); });
  if (!asked) done("too many wait for the history");
}

void Daemon::ask_events(EventsWanted wanted, std::function<void(Events)> done) {
  const auto found = std::make_shared<EventsFound>();
  if (!history_) {
    found->trouble = kNoHistory;
    return done(found);
  }
  std::vector<HistoryEvent> waiting = history_->waiting_events();
  waiting.insert(waiting.end(), history_rows_.events.begin(), history_rows_.events.end());
  const bool asked =
      papers_->ask([found, wanted = std::move(wanted), waiting = std::move(waiting)](
                       const HistoryFile* file,
                       const std::string& why) { *found = look_back(file, why, waiting, wanted); },
                   [found, done] { done(found); });
  if (!asked) done(nullptr);
}

}  // namespace clutchward
