// The calls behind a ring: announced, told to that contact, unanswered. It remembers nothing: what
// rings after a restart is what the ledgers say.
#include "notification/ringing.h"

#include <algorithm>

#include "notification/ladder.h"
#include "notification/state.h"

namespace clutchward {

std::vector<RingCall> Announcer::calls(const AlarmLookup& lookup, Moment now) const {
  const State& state = *state_;
  const Duty duty = state.duty(now);
  const auto has_ring = [&](const std::string& contact, Priority priority) {
    const auto& channels = state.channels_of(contact);
    return std::any_of(channels.begin(), channels.end(), [&](const ChannelSettings& channel) {
      return channel.ring && channel.least <= priority;
    });
  };
  std::vector<std::pair<AlarmView, RingCall>> found;
  for (const auto& [cabinet, ledger] : state.ledgers)
    for (const auto& [key, episode] : ledger.episodes) {
      if (!episode.running || episode.on_hold || episode.folded) continue;
      const auto view = lookup.find(key);
      if (!view || !rings(*view) || view->attending) continue;
      for (const std::string& contact : episode.reminded()) {
        const bool awake =
            view->priority == Priority::high || duty.can_be_told(contact, view->priority);
        if (!awake || !has_ring(contact, view->priority)) continue;
        found.push_back({*view,
                         {contact, key, episode.episode, urgency_of(view->priority),
                          alarm_line(*view, episode.last_event, 0, state.manner(now)),
                          since(*view, episode.last_event)}});
      }
    }
  std::stable_sort(found.begin(), found.end(),
                   [](const auto& a, const auto& b) { return worse(a.first, b.first); });
  std::vector<RingCall> calls;
  for (auto& [view, call] : found) calls.push_back(std::move(call));
  return calls;
}

std::uint64_t Announcer::version() const { return state_->version; }

}  // namespace clutchward
