// How cabinets stand beside each other.
#include "web/standing.h"

#include <algorithm>
#include <array>
#include <tuple>

namespace clutchward {
namespace {

constexpr Wall kLater = Wall::max();

Standing standing_of(AlarmState state, bool snoozed) {
  switch (state) {
    case AlarmState::unacknowledged:
      return snoozed ? Standing::in_hand : Standing::needs_you;
    case AlarmState::acknowledged:
      return Standing::in_hand;
    case AlarmState::latched:
    case AlarmState::returned:
      return Standing::look;
    case AlarmState::pending:
      return Standing::pending;
    case AlarmState::out_of_service:
    case AlarmState::suppressed:
      return Standing::unwatched;
    case AlarmState::normal:
      break;
  }
  return Standing::fine;
}

AlarmBrief brief_of(const AlarmView& alarm) {
  AlarmBrief brief;
  brief.state = alarm.state;
  brief.priority = alarm.priority;
  brief.snoozed = alarm.snoozed_until.has_value();
  brief.awaits_news =
      alarm.state == AlarmState::suppressed && awaits_news_only(alarm.suppressed_for);
  brief.since = alarm.raised_at ? alarm.raised_at : alarm.since;
  return brief;
}

StandingRank rank_of(const AlarmBrief& alarm) {
  return {standing_of(alarm.state, alarm.snoozed), 2 - static_cast<int>(alarm.priority),
          alarm.since.value_or(kLater)};
}

StandingRank rank_of(const CabinetBrief& cabinet, bool linked = true) {
  StandingRank worst{cabinet.watched ? Standing::fine : Standing::empty, 2, kLater};
  // After a start or a reconnect some rules wait for news; while readings come nothing is amiss.
  for (const AlarmBrief& alarm : cabinet.alarms)
    if (!alarm.awaits_news || cabinet.no_data || !linked) worst = std::min(worst, rank_of(alarm));
  if (cabinet.no_data)
    worst = std::min(worst, {Standing::no_data, 2, cabinet.last_reading.value_or(Wall::min())});
  if (cabinet.attended) worst = std::min(worst, {Standing::unwatched, 2, kLater});
  return worst;
}

// Their places, the worst first.
std::vector<std::size_t> order_of(const std::vector<CabinetBrief>& briefs) {
  std::vector<std::pair<StandingRank, std::size_t>> ranked;
  ranked.reserve(briefs.size());
  for (std::size_t i = 0; i < briefs.size(); ++i) ranked.emplace_back(rank_of(briefs[i]), i);
  std::sort(ranked.begin(), ranked.end(), [&](const auto& left, const auto& right) {
    return std::tie(left.first, briefs[left.second].id) <
           std::tie(right.first, briefs[right.second].id);
  });
  std::vector<std::size_t> order;
  order.reserve(ranked.size());
  for (const auto& [rank, place] : ranked) order.push_back(place);
  return order;
}

std::vector<CabinetBrief> briefs_of(const std::vector<CabinetView>& cabinets) {
  std::vector<CabinetBrief> briefs;
  briefs.reserve(cabinets.size());
  for (const CabinetView& cabinet : cabinets) briefs.push_back(::clutchward::brief_of(cabinet));
  return briefs;
}

std::string cabinets_text(std::size_t count) {
  return std::to_string(count) + (count == 1 ? " cabinet" : " cabinets");
}

}  // namespace

Standing standing_of(const AlarmView& alarm) {
  return standing_of(alarm.state, alarm.snoozed_until.has_value());
}

Standing standing_of(const CabinetBrief& brief, bool linked) {
  return rank_of(brief, linked).standing;
}
Standing standing_of(const CabinetView& cabinet, bool linked) {
  return standing_of(brief_of(cabinet), linked);
}

CabinetBrief brief_of(const CabinetView& cabinet) {
  CabinetBrief brief;
  brief.id = cabinet.id;
  brief.no_data = cabinet.no_data;
  brief.attended = cabinet.attending_until.has_value();
  brief.last_reading = cabinet.last_reading;
  brief.watched = std::any_of(cabinet.batches.begin(), cabinet.batches.end(),
                              [](const BatchView& batch) { return batch.set; });
  for (const AlarmView& alarm : cabinet.alarms)
    if (alarm.state != AlarmState::normal) brief.alarms.push_back(brief_of(alarm));
  return brief;
}

std::vector<const CabinetView*> worst_first(const std::vector<CabinetView>& cabinets) {
  std::vector<const CabinetView*> sorted;
  sorted.reserve(cabinets.size());
  for (const std::size_t place : order_of(briefs_of(cabinets))) sorted.push_back(&cabinets[place]);
  return sorted;
}

std::vector<const AlarmView*> alarms_worst_first(const CabinetView& cabinet) {
  std::vector<const AlarmView*> sorted;
  for (const AlarmView& alarm : cabinet.alarms)
    if (alarm.state != AlarmState::normal) sorted.push_back(&alarm);
  std::stable_sort(sorted.begin(), sorted.end(), [](const AlarmView* left, const AlarmView* right) {
    const StandingRank a = rank_of(brief_of(*left));
    const StandingRank b = rank_of(brief_of(*right));
    return std::tie(a.standing, a.priority) < std::tie(b.standing, b.priority);
  });
  return sorted;
}

std::string headline(const std::vector<CabinetView>& cabinets, const std::vector<AlarmView>& site) {
  Roll roll;
  for (const CabinetView& cabinet : cabinets) roll.add(::clutchward::brief_of(cabinet));
  return roll.headline(site);
}

void Roll::add(const CabinetBrief& brief, bool linked) {
  const StandingRank rank = rank_of(brief, linked);
  ++counts_.at(static_cast<std::size_t>(rank.standing));
  if (brief.last_reading && (!newest_ || *brief.last_reading > *newest_))
    newest_ = brief.last_reading;
  ranked_.emplace_back(rank, brief.id);
}

Standing Roll::worst() const {
  for (std::size_t i = 0; i < counts_.size(); ++i)
    if (counts_[i] > 0) return static_cast<Standing>(i);
  return Standing::unwatched;
}

std::vector<std::string> Roll::places(std::size_t from, std::size_t most) {
  const auto place = [&](std::size_t number) {
    return ranked_.begin() + static_cast<std::ptrdiff_t>(std::min(number, ranked_.size()));
  };
  const auto first = place(from);
  const auto last = place(from + most);
  // Ten thousand in order would take ten times as long as finding the fifty that are wanted.
  if (first != ranked_.begin() && first != ranked_.end())
    std::nth_element(ranked_.begin(), first, ranked_.end());
  std::partial_sort(first, last, ranked_.end());
  std::vector<std::string> ids;
  for (auto each = first; each != last; ++each) ids.push_back(each->second);
  return ids;
}

std::string Roll::headline(const std::vector<AlarmView>& site) const {
  const auto count = [&](Standing standing) {
    return counts_.at(static_cast<std::size_t>(standing));
  };
  const std::size_t all = ranked_.size();
  const auto of_all = [&](std::size_t some, const char* one, const char* many) {
    return std::to_string(some) + " of " + cabinets_text(all) + " " + (some == 1 ? one : many);
  };
  if (count(Standing::needs_you) > 0)
    return of_all(count(Standing::needs_you), "needs you", "need you");
  if (std::any_of(site.begin(), site.end(),
                  [](const AlarmView& alarm) { return standing_of(alarm) == Standing::needs_you; }))
    return "The watch itself needs you";
  if (all == 0) return "No cabinet is known yet";
  if (count(Standing::in_hand) > 0)
    return of_all(count(Standing::in_hand), "is out of range, in hand",
                  "are out of range, in hand");
  if (count(Standing::look) > 0)
    return of_all(count(Standing::look), "is back in range: have a look",
                  "are back in range: have a look");
  if (count(Standing::no_data) > 0)
    return of_all(count(Standing::no_data), "gives no readings", "give no readings");
  if (count(Standing::pending) > 0)
    return of_all(count(Standing::pending), "is just out of range", "are just out of range");
  if (count(Standing::unwatched) > 0)
    return of_all(count(Standing::unwatched), "is not watched in full", "are not watched in full");
  const std::size_t empty = count(Standing::empty);
  if (empty == all) return all == 1 ? "No eggs are set" : "No eggs are set in any cabinet";
  if (empty > 0)
    return all - empty == 1 ? "The cabinet with eggs is in range"
                            : "All " + cabinets_text(all - empty) + " with eggs in range";
  return all == 1 ? "The cabinet is in range" : "All " + cabinets_text(all) + " in range";
}

std::string about(Span span) {
  using namespace std::chrono;
  const auto seconds = std::max<std::int64_t>(0, duration_cast<std::chrono::seconds>(span).count());
  if (seconds < 120) return std::to_string(seconds) + " s";
  const auto minutes = seconds / 60;
  if (minutes < 120) return std::to_string(minutes) + " min";
  const auto hours = minutes / 60;
  if (hours < 48)
    return std::to_string(hours) + " h" +
           (minutes % 60 != 0 && hours < 12 ? " " + std::to_string(minutes % 60) + " min" : "");
  return std::to_string(hours / 24) + " days";
}

}  // namespace clutchward
