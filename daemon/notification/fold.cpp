// One cause, one message, over several cabinets: what fell silent together is told as its cause,
// which names each; the cabinets' own silences wait behind it. A cause that is less urgent than
// what follows from it folds nothing.
#include <algorithm>

#include "notification/ladder.h"
#include "notification/state.h"

namespace clutchward {
namespace {

// Looked at again at least so often: a cause may go without a word, with its rule.
constexpr Span kLook = std::chrono::minutes{3};

}  // namespace

bool Announcer::State::is_told_by_cause(const AlarmView& view, const AlarmLookup& lookup) const {
  if (view.part_of.empty()) return false;
  const auto site = ledgers.find("");
  if (site == ledgers.end()) return false;
  return std::any_of(site->second.episodes.begin(), site->second.episodes.end(),
                     [&](const auto& one) {
                       const auto cause = lookup.find(one.first);
                       return cause && cause->kind == RuleKind::all_silent && cause->active &&
                              cause->priority >= view.priority;
                     });
}

void Announcer::State::fold(Episode& episode, Moment now) {
  episode.folded = true;
  if (!episode.running) episode.announced_at = now.steady;
  episode.running = true;
  episode.next_reminder = now.steady + kLook;
}

void Announcer::State::fold_consequences(const AlarmLookup& lookup, Moment now) {
  for (auto& [cabinet, ledger] : ledgers) {
    bool any = false;
    for (auto& [key, episode] : ledger.episodes) {
      if (!episode.running || episode.folded) continue;
      const auto view = lookup.find(key);
      if (!view || !rings(*view) || !is_told_by_cause(*view, lookup)) continue;
      fold(episode, now);
      any = true;
    }
    if (!any) continue;
    changed.insert(cabinet);
    reschedule(cabinet, ledger);
  }
}

void Announcer::State::unfold(const AlarmLookup& lookup, Moment now, Decided& decided) {
  std::vector<std::string> cabinets;
  for (const auto& [cabinet, ledger] : ledgers)
    if (std::any_of(ledger.episodes.begin(), ledger.episodes.end(),
                    [](const auto& one) { return one.second.folded; }))
      cabinets.push_back(cabinet);
  for (const std::string& cabinet : cabinets) {
    for (auto& [key, episode] : ledgers[cabinet].episodes)
      if (episode.folded) unfold_one(episode, lookup, now, decided);
    touched(cabinet);
  }
}

void Announcer::State::unfold_one(Episode& episode, const AlarmLookup& lookup, Moment now,
                                  Decided& decided) {
  const auto view = lookup.find(episode.key);
  if (view && rings(*view) && is_told_by_cause(*view, lookup)) {
    episode.next_reminder = now.steady + kLook;
    return;
  }
  episode.stop();
  if (!view || !rings(*view)) return;
  if (view->attending)
    episode.held_loud = episode.last_event;
  else
    announce(episode, episode.last_event, *view, now, decided);
}

}  // namespace clutchward
