// Occurrences are closed late: when the next alarm of their sort comes, or at the end.
#include "quality/occurrences.h"

#include <algorithm>

namespace clutchward {

std::string sort_of_trouble(RuleKind kind, Quantity quantity, bool downwards,
                            const std::string& signal) {
  switch (kind) {
    case RuleKind::above:
    case RuleKind::below:
    case RuleKind::rate:
    case RuleKind::trend: {
      const bool down = kind == RuleKind::below || (kind != RuleKind::above && downwards);
      if (quantity == Quantity::humidity || quantity == Quantity::wet_bulb)
        return down ? "too dry" : "too damp";
      return down ? "too cold" : "too hot";
    }
    case RuleKind::silent:
    case RuleKind::all_silent:
      return "silent";
    case RuleKind::spread:
    case RuleKind::probe:
      return "probes";
    case RuleKind::turning:
    case RuleKind::still:
      return "turning";
    case RuleKind::cooling:
    case RuleKind::lid:
      return "airing";
    case RuleKind::broker:
      return "broker";
    case RuleKind::power:
      return "power";
    case RuleKind::signal:
      return signal.empty() ? "signal" : "signal " + signal;
  }
  return "other";
}

void OccurrenceMatcher::raised(std::size_t side, const AlarmEvent& event, Priority priority,
                               const std::string& trouble) {
  const Where where{event.key.cabinet, trouble};
  auto found = open_.find(where);
  if (found != open_.end() && found->second.active.empty() &&
      event.at - found->second.occurrence.until > kApart) {
    take_(found->second.occurrence);
    open_.erase(found);
    found = open_.end();
  }
  if (found == open_.end()) {
    Open fresh;
    fresh.occurrence = {event.key.cabinet, trouble, event.at, event.at, {}};
    fresh.occurrence.sides.resize(sides_);
    found = open_.emplace(where, std::move(fresh)).first;
  }
  Occurrence& occurrence = found->second.occurrence;
  occurrence.until = std::max(occurrence.until, event.at);
  OccurrenceSide& mine = occurrence.sides[side];
  if (!mine.first) mine.first = event.at;
  mine.highest = std::max(mine.highest, priority);
  ++mine.raised;
  mine.rules.insert(event.key.alarm);
  found->second.active.insert({side, event.key});
  at_[{side, event.key}] = where;
}

void OccurrenceMatcher::ended(std::size_t side, const AlarmEvent& event) {
  auto at = at_.find({side, event.key});
  // A batch takes its alarms along into another cabinet: what began there ends there.
  if (at == at_.end() && !event.key.batch.empty())
    at = std::find_if(at_.begin(), at_.end(), [&](const auto& one) {
      const auto& [whose, key] = one.first;
      return whose == side && key.batch == event.key.batch && key.alarm == event.key.alarm;
    });
  if (at == at_.end()) return;
  Open& open = open_.at(at->second);
  open.occurrence.until = std::max(open.occurrence.until, event.at);
  open.active.erase(at->first);
  at_.erase(at);
}

void OccurrenceMatcher::finish(Wall until) {
  for (auto& [where, open] : open_) {
    if (!open.active.empty()) open.occurrence.until = std::max(open.occurrence.until, until);
    take_(open.occurrence);
  }
  open_.clear();
  at_.clear();
}

void OccurrenceSums::take(const Occurrence& occurrence, std::size_t first, std::size_t second) {
  const auto& one = occurrence.sides[first].first;
  const auto& other = occurrence.sides[second].first;
  both += one && other ? 1 : 0;
  only_first += one && !other ? 1 : 0;
  only_second += other && !one ? 1 : 0;
  if (one && other) ++leads[std::chrono::round<std::chrono::seconds>(*one - *other).count()];
}

std::optional<Span> OccurrenceSums::middle_lead() const {
  std::uint64_t left = (both + 1) / 2;
  for (const auto& [seconds, count] : leads) {
    if (left <= count) return std::chrono::seconds{seconds};
    left -= count;
  }
  return std::nullopt;
}

}  // namespace clutchward
