// How cabinets stand beside each other.
#include "web/standing.h"

#include <algorithm>
#include <array>
#include <tuple>

namespace clutchward {
namespace {

struct Rank {
  Standing standing;
  int priority;  // 0: high
  Wall since;
  auto operator<=>(const Rank&) const = default;
};

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
  return {alarm.state, alarm.priority, alarm.snoozed_until.has_value(),
          alarm.raised_at ? alarm.raised_at : alarm.since};
}

Rank rank_of(const AlarmBrief& alarm) {
  return {standing_of(alarm.state, alarm.snoozed), 2 - static_cast<int>(alarm.priority),
          alarm.since.value_or(kLater)};
}

Rank rank_of(const CabinetBrief& cabinet) {
  Rank worst{Standing::fine, 2, kLater};
  for (const AlarmBrief& alarm : cabinet.alarms) worst = std::min(worst, rank_of(alarm));
  if (cabinet.no_data)
    worst = std::min(worst, {Standing::no_data, 2, cabinet.last_reading.value_or(Wall::min())});
  if (!cabinet.watched || cabinet.attended)
    worst = std::min(worst, {Standing::unwatched, 2, kLater});
  return worst;
}

// Their places, the worst first.
std::vector<std::size_t> order_of(const std::vector<CabinetBrief>& briefs) {
  std::vector<std::pair<Rank, std::size_t>> ranked;
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

Standing standing_of(const CabinetBrief& brief) { return rank_of(brief).standing; }
Standing standing_of(const CabinetView& cabinet) { return standing_of(brief_of(cabinet)); }

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

void worst_first(std::vector<CabinetBrief>& briefs) {
  std::vector<CabinetBrief> sorted;
  sorted.reserve(briefs.size());
  for (const std::size_t place : order_of(briefs)) sorted.push_back(std::move(briefs[place]));
  briefs = std::move(sorted);
}

std::vector<const AlarmView*> alarms_worst_first(const CabinetView& cabinet) {
  std::vector<const AlarmView*> sorted;
  for (const AlarmView& alarm : cabinet.alarms)
    if (alarm.state != AlarmState::normal) sorted.push_back(&alarm);
  std::stable_sort(sorted.begin(), sorted.end(), [](const AlarmView* left, const AlarmView* right) {
    const Rank a = rank_of(brief_of(*left));
    const Rank b = rank_of(brief_of(*right));
    return std::tie(a.standing, a.priority) < std::tie(b.standing, b.priority);
  });
  return sorted;
}

std::string headline(const std::vector<CabinetView>& cabinets, const std::vector<AlarmView>& site) {
  return headline(briefs_of(cabinets), site);
}

std::string headline(const std::vector<CabinetBrief>& cabinets,
                     const std::vector<AlarmView>& site) {
  std::array<std::size_t, 7> counts{};
  for (const CabinetBrief& cabinet : cabinets)
    ++counts[static_cast<std::size_t>(standing_of(cabinet))];
  const auto count = [&](Standing standing) { return counts[static_cast<std::size_t>(standing)]; };
  const std::size_t all = cabinets.size();
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
