// Looks into the history for the pages: asked by the loop, read by the reader's thread.
#include <algorithm>
#include <set>

#include "app/curve_look.h"
#include "app/daemon.h"
#include "app/history_keeper.h"

namespace clutchward {
namespace {

// How much the page can tell of the time before the start (server.cpp keeps as many).
constexpr std::size_t kRecalled = 200;
constexpr auto kRecalledFor = std::chrono::hours{7 * 24};

// The rows of this cabinet that the loop itself still holds.
template <class Row>
void add_own(std::vector<Row>& into, const std::vector<Row>& from,
             const std::vector<std::string>& cabinets) {
  for (const Row& row : from)
    if (std::find(cabinets.begin(), cabinets.end(), row.cabinet) != cabinets.end())
      into.push_back(row);
}

}  // namespace

void Daemon::ask_curve(CurveWanted wanted, std::function<void(Curve)> done) {
  if (!history_) {
    const auto none = std::make_shared<CurveFound>();
    none->trouble = "no history is kept: history is off";
    return done(none);
  }
  std::vector<std::string> cabinets;
  for (const CurveStay& stay : wanted.stays) cabinets.push_back(stay.cabinet);
  HistoryRows waiting = history_->waiting_of(cabinets);
  add_own(waiting.minutes, history_rows_.minutes, cabinets);
  const std::set<std::string> once(cabinets.begin(), cabinets.end());
  for (const std::string& cabinet : once) add_minutes(engine_->minutes_so_far(cabinet), waiting);
  add_own(waiting.events, history_rows_.events, cabinets);
  const auto found = std::make_shared<CurveFound>();
  const bool asked = reader_->ask(
      [found, wanted = std::move(wanted), waiting = std::move(waiting)](const HistoryFile* file,
                                                                        const std::string& why) {
        *found = look_at_curve(file, why, waiting, wanted);
      },
      [found, done] { done(found); });
  if (!asked) done(nullptr);
}

// What happened before this start, so that a restart does not make the page forget.
void Daemon::recall_events() {
  if (!history_) return;
  const auto events = std::make_shared<std::vector<AlarmEvent>>();
  reader_->ask(
      [events, from = time().wall - kRecalledFor](const HistoryFile* file, const std::string&) {
        *events = look_at_events(file, from, kRecalled);
      },
      [this, events] { web_->recall(std::move(*events)); });
}

}  // namespace clutchward
