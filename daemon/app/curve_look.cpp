// Rows to steps.
#include "app/curve_look.h"

#include <algorithm>
#include <deque>

#include "base/limits.h"
#include "wire/event_read.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

// So many minutes are read in one statement: a commit waits no longer for it than this takes.
constexpr std::int64_t kSlice = 1440;

std::int64_t minutes_of(Span span) { return span / 1min; }
std::int64_t minute_at(Wall time) {
  return std::chrono::floor<std::chrono::minutes>(time).time_since_epoch().count();
}

// One quantity: sums by step.
class Steps {
 public:
  explicit Steps(const CurveWanted& wanted)
      : first_(minute_at(wanted.from())),
        step_(std::max<std::int64_t>(1, minutes_of(wanted.step))),
        sums_(static_cast<std::size_t>(
            std::max<std::int64_t>(0, minute_at(wanted.to()) - first_) / step_ + 1)) {}

  void take(const HistoryMinute& row) {
    const std::int64_t place = (row.minute - first_) / step_;
    if (row.minute < first_ || place >= static_cast<std::int64_t>(sums_.size())) return;
    Sum& sum = sums_[static_cast<std::size_t>(place)];
    if (sum.count == 0) sum = {row.low, row.high, 0, 0};
    sum.low = std::min(sum.low, row.low);
    sum.high = std::max(sum.high, row.high);
    sum.means += row.mean;
    ++sum.count;
  }

  std::vector<CurveStep> taken() const {
    std::vector<CurveStep> steps;
    for (std::size_t i = 0; i < sums_.size(); ++i) {
      const Sum& sum = sums_[i];
      if (sum.count == 0) continue;
      const std::int64_t minute = first_ + static_cast<std::int64_t>(i) * step_;
      steps.push_back({Wall(std::chrono::minutes(minute)), sum.low,
                       static_cast<Milli>(sum.means / sum.count), sum.high});
    }
    return steps;
  }

 private:
  struct Sum {
    Milli low = 0;
    Milli high = 0;
    std::int64_t means = 0;
    std::int64_t count = 0;
  };
  std::int64_t first_;
  std::int64_t step_;
  std::vector<Sum> sums_;
};

class Look {
 public:
  Look(const HistoryFile* file, const HistoryRows& waiting, const CurveWanted& wanted)
      : file_(file), waiting_(waiting), wanted_(wanted), temperature_(wanted), humidity_(wanted) {
    const std::int64_t all = minutes_of(wanted.to() - wanted.from());
    found_.every = 1 + all / static_cast<std::int64_t>(limits::kCurveMinutes);
  }

  CurveFound at_all(const std::string& why) {
    found_.trouble = why;
    for (const CurveStay& stay : wanted_.stays) {
      minutes(stay);
      events(stay);
    }
    found_.temperature = temperature_.taken();
    found_.humidity = humidity_.taken();
    const auto surplus = static_cast<std::ptrdiff_t>(
        found_.events.size() - std::min(found_.events.size(), limits::kCurveEvents));
    found_.events.erase(found_.events.begin(), found_.events.begin() + surplus);
    return std::move(found_);
  }

 private:
  void take(const CurveStay& stay, const HistoryMinute& row) {
    if (std::find(stay.leave_out.begin(), stay.leave_out.end(), row.probe) != stay.leave_out.end())
      return;
    if (row.quantity == name_of(Quantity::temperature)) temperature_.take(row);
    if (row.quantity == name_of(Quantity::humidity)) humidity_.take(row);
  }

  void minutes(const CurveStay& stay) {
    const std::int64_t first = minute_at(stay.from);
    const std::int64_t last = minute_at(stay.to) + 1;
    const std::int64_t slice = kSlice * found_.every;
    for (std::int64_t from = first; file_ != nullptr && from < last; from += slice) {
      HistoryQuestion question;
      question.cabinet = stay.cabinet;
      question.from = Wall(std::chrono::minutes(from));
      question.to = Wall(std::chrono::minutes(std::min(last, from + slice)));
      const auto trouble = file_->minutes_of(question, found_.every, [&](const HistoryMinute& row) {
        take(stay, row);
        return true;
      });
      if (!trouble) continue;
      found_.trouble = trouble->why;
      return;
    }
    for (const HistoryMinute& row : waiting_.minutes)
      if (row.cabinet == stay.cabinet && row.minute >= first && row.minute < last) take(stay, row);
  }

  void note(const CurveStay& stay, const HistoryEvent& row) {
    if (row.cabinet != stay.cabinet || row.at < stay.from || row.at > stay.to) return;
    if (!wanted_.batch.empty() && !row.batch.empty() && row.batch != wanted_.batch) return;
    auto noted = parse_event(row.json);
    if (!noted) return;
    CurveEvent event{std::move(noted->event), noted->kind, noted->quantity, noted->priority};
    // What is being committed may stand in both places.
    if (std::find(found_.events.begin(), found_.events.end(), event) != found_.events.end()) return;
    found_.events.push_back(std::move(event));
    if (found_.events.size() >= 2 * limits::kCurveEvents)
      found_.events.erase(found_.events.begin(), found_.events.begin() + limits::kCurveEvents);
  }

  void events(const CurveStay& stay) {
    HistoryQuestion question;
    question.cabinet = stay.cabinet;
    question.from = stay.from;
    question.to = stay.to + 1ms;
    if (file_ != nullptr)
      if (const auto trouble = file_->events(question, [&](const HistoryEvent& row) {
            note(stay, row);
            return true;
          }))
        found_.trouble = trouble->why;
    for (const HistoryEvent& row : waiting_.events) note(stay, row);
  }

  const HistoryFile* file_;
  const HistoryRows& waiting_;
  const CurveWanted& wanted_;
  Steps temperature_;
  Steps humidity_;
  CurveFound found_;
};

}  // namespace

CurveFound look_at_curve(const HistoryFile* file, const std::string& why,
                         const HistoryRows& waiting, const CurveWanted& wanted) {
  return Look(file, waiting, wanted).at_all(why);
}

std::vector<AlarmEvent> look_at_events(const HistoryFile* file, Wall from, std::size_t most) {
  std::deque<AlarmEvent> latest;
  if (file == nullptr) return {};
  HistoryQuestion question;
  question.from = from;
  file->events(question, [&](const HistoryEvent& row) {
    if (auto noted = parse_event(row.json)) latest.push_back(std::move(noted->event));
    if (latest.size() > most) latest.pop_front();
    return true;
  });
  return {latest.begin(), latest.end()};
}

}  // namespace clutchward
