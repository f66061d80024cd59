// From one alarm's events to the figures of all. What a replay or a history begins with in the
// middle (a return without its raise) counts for nothing.
#include "quality/tally.h"

#include <algorithm>
#include <cstdlib>
#include <iterator>

namespace clutchward {
namespace {

using namespace std::chrono_literals;

// Annunciated for longer than this without a break (ISA-18.2-2016 16.4.7 as a secondary article
// gives it).
constexpr Span kStale = 24h;
// Active only for seconds and not again at once: the figures are one project's, no standard's.
constexpr Span kFleeting = 10s;
constexpr Span kAgain = 60s;
// An index over fewer gaps says nothing (our own choice, as in notification/chatter).
constexpr std::uint64_t kGaps = 4;

Steady steady_of(Wall at) { return Steady{at.time_since_epoch()}; }

std::string word_of(const std::optional<Priority>& priority) {
  return priority ? std::string(name_of(*priority)) : "unknown";
}

std::int64_t day_of(Wall at) {
  return std::chrono::floor<std::chrono::days>(at).time_since_epoch().count();
}

}  // namespace

void AlarmTally::take(const AlarmEvent& event, std::optional<Priority> priority) {
  ++sums_.events;
  auto found = lines_.find(event.key);
  if (found == lines_.end()) found = moved(event.key);
  if (found == lines_.end() && event.kind != EventKind::raised) return;
  Line& line = found == lines_.end() ? lines_[event.key] : found->second;
  line.totals.key = event.key;
  if (priority) line.totals.priority = priority;
  switch (event.kind) {
    case EventKind::raised:
      raise(line, event);
      break;
    case EventKind::raised_again:
    case EventKind::worsened:
      line.snoozed = false;
      annunciate(line, event);
      break;
    case EventKind::returned:
    case EventKind::out_of_service:
      give_back(line, event);
      break;
    case EventKind::acknowledged:
      answer(line, event.at);
      break;
    case EventKind::reset:
      answer(line, event.at);
      line.snoozed = false;
      break;
    case EventKind::snoozed:
      line.snoozed = true;
      line.put_off = true;
      break;
    case EventKind::snooze_ended:
      line.snoozed = false;
      break;
    case EventKind::passed_on:
    case EventKind::in_service:
      break;
  }
}

// A batch takes its alarms along into another cabinet: the line goes on under its new key.
AlarmTally::Lines::iterator AlarmTally::moved(const AlarmKey& key) {
  if (key.batch.empty()) return lines_.end();
  const auto same = std::find_if(lines_.begin(), lines_.end(), [&](const auto& one) {
    return one.first.batch == key.batch && one.first.alarm == key.alarm;
  });
  if (same == lines_.end()) return same;
  auto node = lines_.extract(same);
  node.key() = key;
  return lines_.insert(std::move(node)).position;
}

void AlarmTally::raise(Line& line, const AlarmEvent& event) {
  if (line.open) close(line);
  if (line.fleeting_at) {
    if (event.at - *line.fleeting_at > kAgain) ++sums_.fleeting;
    line.fleeting_at.reset();
  }
  if (line.totals.raised > 0) {
    const double seconds = std::chrono::duration<double>(event.at - line.raised_at).count();
    line.inverse_gaps += 1 / std::max(1.0, seconds);
    ++line.gaps;
  }
  const bool begins = line.chatter.raise(steady_of(event.at));
  line.totals.chatters = line.totals.chatters || begins;
  // What stood before a long quiet says nothing of chatter.
  if (line.chatter.raised.size() > 1) {
    line.totals.stood = std::max(line.totals.stood.value_or(Span{0}), line.last_stood);
    if (line.last_swing)
      line.totals.swing = std::max(line.totals.swing.value_or(0), *line.last_swing);
  }
  ++line.totals.raised;
  ++sums_.raised;
  ++sums_.raised_by_rule[event.key.alarm];
  line.active = line.open = true;
  line.acknowledged = line.answered = line.put_off = false;
  line.raised_at = event.at;
  line.told_at.reset();
  if (line.snoozed) {  // recorded, not announced: the snooze's end announces it
    line.put_off = true;
    return;
  }
  annunciate(line, event);
}

void AlarmTally::annunciate(Line& line, const AlarmEvent& event) {
  line.acknowledged = false;
  line.told_at = event.at;
  ++line.totals.annunciated;
  ++sums_.annunciated_by_priority[word_of(line.totals.priority)];
  load_.take(event.at);
}

void AlarmTally::answer(Line& line, Wall at) {
  if (line.acknowledged) return;
  line.acknowledged = line.answered = true;
  if (!line.told_at) return;
  sums_.answers.take(at - *line.told_at);
  sums_.answers_by_priority[word_of(line.totals.priority)].take(at - *line.told_at);
  line.told_at.reset();
}

void AlarmTally::give_back(Line& line, const AlarmEvent& event) {
  if (!line.active) return;
  line.active = false;
  line.last_stood = event.at - line.raised_at;
  line.last_swing = std::nullopt;
  if (event.value && event.limit) line.last_swing = std::abs(*event.limit - *event.value);
  stood(line, event.at);
  if (line.last_stood < kFleeting) line.fleeting_at = line.raised_at;
}

void AlarmTally::stood(Line& line, Wall until) {
  if (until - line.raised_at <= kStale) return;
  ++sums_.stale;
  for (auto day = day_of(line.raised_at + kStale); day <= day_of(until); ++day)
    ++stale_by_day_[day];
}

// What became of one raise.
void AlarmTally::close(Line& line) {
  line.open = false;
  if (line.answered) {
    ++sums_.acknowledged;
  } else if (line.active) {
    ++sums_.unanswered;
  } else {
    ++sums_.never_acknowledged;
    if (line.put_off) ++sums_.only_snoozed;
  }
}

TallyFigures AlarmTally::figures(Wall from, Wall until) const {
  AlarmTally end = *this;
  std::vector<AlarmTotals> all;
  for (auto& [key, line] : end.lines_) {
    if (line.active) end.stood(line, until);
    if (line.open) end.close(line);
    if (line.fleeting_at) ++end.sums_.fleeting;
    if (line.gaps > 0)
      line.totals.chatter_index = line.inverse_gaps / static_cast<double>(line.gaps);
    if (line.gaps >= kGaps)
      end.sums_.worst_chatter_index =
          std::max(end.sums_.worst_chatter_index, line.totals.chatter_index);
    all.push_back(line.totals);
  }
  TallyFigures out = std::move(end.sums_);
  out.load = load_.figures(from, until);
  out.different = all.size();
  for (const auto& [day, count] : end.stale_by_day_)
    out.stale_a_day = std::max(out.stale_a_day, count);
  for (const AlarmTotals& one : all) out.chattering += one.chatters ? 1 : 0;
  std::stable_sort(all.begin(), all.end(),
                   [](const auto& a, const auto& b) { return a.raised > b.raised; });
  if (all.size() > kWorst) all.resize(kWorst);
  static_assert(kWorst == 10, "ten_most is over what is kept");
  for (const AlarmTotals& one : all) out.ten_most += one.raised;
  out.worst = std::move(all);
  return out;
}

}  // namespace clutchward
