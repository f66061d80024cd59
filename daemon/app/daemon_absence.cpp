// What a restart must not hide: how long nobody watched, and which faults of the watch stood.
#include <algorithm>

#include "app/daemon.h"
#include "base/text.h"
#include "loop/clocks.h"
#include "notification/wording.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

// Where no watchdog asks for proofs of the disk oftener. Each writes a few kB (our own choice).
constexpr Span kSignOfLife = 2min;
// Failing channels and replies are found again by then.
constexpr Span kFoundAgain = 20min;

}  // namespace

// For the store's small file; a clock that is not set yet takes no hour back.
std::optional<Wall> Daemon::sign_of_life(Moment now) const {
  return now.wall_trusted ? now.wall : last_saved_;
}

void Daemon::give_sign_of_life(Moment now) {
  if (now.steady < alive_at_) return;
  alive_at_ = now.steady + kSignOfLife;
  store_->probe(sign_of_life(now));
}

void Daemon::look_for_absence(Moment now) {
  if (absence_.done()) return;
  const auto found = absence_.look(now, clock_was_set());
  if (!found) return;
  const Manner manner{settings_, zone_, now.wall};
  const std::string from = clock_text(found->from, manner);
  const std::string until = clock_text(found->until, manner);
  const Span gap = std::chrono::floor<std::chrono::minutes>(found->until - found->from);
  faults_->once(
      "THE WATCH WAS AWAY from " + from + " to " + until,
      "Nothing was watched from " + from + " to " +
          clock_text(found->until, manner, /*zone=*/true) + " (" + to_text(gap) +
          "): no alarm could ring, and the curves have a gap. From then on all is watched "
          "again.",
      "Look at the cabinets", Urgency::low, now);
}

void Daemon::restore_faults(const Kept& kept, Moment now) {
  for (const auto& [key, tree] : kept.entries)
    if (key == ServiceFaults::kKey)
      faults_->restore(tree, now, std::max(kFoundAgain, settings_.watch.channel_fails + 5min));
  // What is counted from the start on is no sign that it is over.
  for (Losses* losses : {&readings_lost_, &messages_lost_, &cabinets_lost_})
    losses->at = now.steady;
  late_at_ = now.steady;
}

}  // namespace clutchward
