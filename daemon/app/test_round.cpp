// The days are the site's own.
#include "app/test_round.h"

#include <algorithm>

namespace clutchward {
namespace {

// A made-up test comes no later after its hour than this.
constexpr Span kStillCivil = std::chrono::hours{12};
// Further back no hour needs looking at: every week has one.
constexpr Span kOneWeek = std::chrono::hours{8 * 24};

}  // namespace

bool TestRound::due(const Moment& now, const TestSettings& settings, const Zone& zone) {
  if (!now.wall_trusted) return false;
  if (!last_ || now.wall < *last_) last_ = now.wall;  // stepped back: not silent until then
  const Wall from = std::max(*last_, now.wall - kOneWeek);
  std::optional<Wall> hour;  // the latest that has passed
  for (Wall next = zone.next_at(from, settings.at); next <= now.wall;
       next = zone.next_at(next, settings.at)) {
    const std::chrono::weekday day{std::chrono::floor<std::chrono::days>(zone.to_local(next))};
    if (std::find(settings.on.begin(), settings.on.end(), day) != settings.on.end()) hour = next;
  }
  if (!hour) return false;
  if (now.wall - *hour < kStillCivil) return true;
  last_ = now.wall;
  return false;
}

Tree TestRound::keep() const {
  Tree tree = Tree::map();
  if (last_) tree.add("last", Tree(to_rfc3339(*last_)));
  return tree;
}

}  // namespace clutchward
