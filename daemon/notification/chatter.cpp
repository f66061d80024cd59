// Gaps between one alarm's raises. A run ends when nothing was raised for a while.
#include "notification/chatter.h"

#include <algorithm>
#include <cstdlib>

namespace clutchward {
namespace {

// What lies further apart is no chatter (our own choice).
constexpr Span kRun = std::chrono::minutes{10};
constexpr std::size_t kShown = 8;
// An index over fewer gaps says nothing that three in a minute does not (our own choice).
constexpr std::size_t kGaps = 4;
constexpr double kBad = 0.05;

}  // namespace

bool Chatter::raise(Steady now) {
  if (!raised.empty() && now - raised.back() > kRun) *this = Chatter{};
  raised.push_back(now);
  if (raised.size() > kShown) raised.pop_front();
  if (told) return false;
  const bool often = raised.size() >= kRaises && now - raised[raised.size() - kRaises] < kWindow;
  told = often || (raised.size() > kGaps && index() >= kBad);
  return told;
}

void Chatter::give_back(std::optional<Milli> value, std::optional<Milli> limit, Steady now) {
  if (raised.empty()) return;
  longest = std::max(longest, now - raised.back());
  if (value && limit) swing = std::max(swing, std::abs(*limit - *value));
}

double Chatter::index() const {
  if (raised.size() < 2) return 0;
  double sum = 0;
  for (std::size_t i = 1; i < raised.size(); ++i)
    sum += 1 / std::max(1.0, std::chrono::duration<double>(raised[i] - raised[i - 1]).count());
  return sum / static_cast<double>(raised.size() - 1);
}

Tree tree_of(const Chatter& chatter, const kept::Clocks& clocks) {
  Tree tree = Tree::map();
  Tree raised = Tree::list();
  for (const Steady at : chatter.raised) raised.add(Tree(to_rfc3339(clocks.wall_of(at))));
  tree.add("raised", std::move(raised));
  if (chatter.longest > Span{0}) tree.add("longest", kept::number(chatter.longest.count()));
  if (chatter.swing != 0) tree.add("swing", kept::number(chatter.swing));
  if (chatter.told) tree.add("told", Tree("yes"));
  return tree;
}

Chatter chatter_of(const Tree& tree, const kept::Clocks& clocks) {
  Chatter chatter;
  for (const auto& [unused, item] : kept::items(tree, "raised"))
    if (const auto at = parse_rfc3339(item.text)) chatter.raised.push_back(clocks.steady_of(*at));
  while (chatter.raised.size() > kShown) chatter.raised.pop_front();
  chatter.longest = Span(std::clamp<std::int64_t>(kept::number(tree, "longest"), 0, 1LL << 40));
  chatter.swing =
      static_cast<Milli>(std::clamp<std::int64_t>(kept::number(tree, "swing"), 0, 1'000'000));
  chatter.told = kept::yes(tree, "told");
  return chatter;
}

}  // namespace clutchward
