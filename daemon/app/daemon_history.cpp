// Looks into the history for the pages: asked by the loop, read by the reader's thread.
#include <algorithm>
#include <set>

#include "app/curve_look.h"
#include "app/daemon.h"
#include "app/history_keeper.h"
#include "app/log.h"

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

// What is not in the file yet of these cabinets, the running minute included.
HistoryRows Daemon::waiting_of(const std::vector<std::string>& cabinets) const {
  HistoryRows waiting = history_->waiting_of(cabinets);
  add_own(waiting.minutes, history_rows_.minutes, cabinets);
  const std::set<std::string> once(cabinets.begin(), cabinets.end());
  for (const std::string& cabinet : once) add_minutes(engine_->minutes_so_far(cabinet), waiting);
  add_own(waiting.events, history_rows_.events, cabinets);
  return waiting;
}

void Daemon::ask_curve(CurveWanted wanted, std::function<void(Curve)> done) {
  if (!history_) {
    const auto none = std::make_shared<CurveFound>();
    none->trouble = "no history is kept: history is off";
    return done(none);
  }
  std::vector<std::string> cabinets;
  for (const CurveStay& stay : wanted.stays) cabinets.push_back(stay.cabinet);
  HistoryRows waiting = waiting_of(cabinets);
  const auto found = std::make_shared<CurveFound>();
  const bool asked = reader_->ask(
      [found, wanted = std::move(wanted), waiting = std::move(waiting)](const HistoryFile* file,
                                                                        const std::string& why) {
        *found = look_at_curve(file, why, waiting, wanted);
      },
      [found, done] { done(found); });
  if (!asked) done(nullptr);
}

// That a message goes to its channel.
void Daemon::note_told(const Notification& message, Moment now) {
  deliveries_.sent(message, now.steady);
  const auto channels = settings_.contacts.find(message.contact);
  const auto channel = static_cast<std::size_t>(message.channel);
  if (!history_ || channels == settings_.contacts.end() || channel >= channels->second.size())
    return;
  told_.sent(message, channels->second[channel].kind(), history_rows_);
}

// What a channel says of one.
void Daemon::note_report(const DeliveryReport& report, Moment now) {
  deliveries_.note(report, now);
  if (history_) told_.report(report, now.wall, history_rows_);
  if (report.outcome != Outcome::delivered)
    spdlog::warn("message {} not delivered: {}", report.id, printable(report.detail, 300));
  announcer_->report(report, *engine_, now);
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
