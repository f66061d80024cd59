// Counting announcements in a window, and the times that follow from it.
#include "notification/flood.h"

#include <algorithm>

namespace clutchward {

std::size_t Flood::recent(Steady now) const {
  return static_cast<std::size_t>(std::count_if(
      announced.begin(), announced.end(), [&](Steady at) { return now - at < kFloodWindow; }));
}

bool Flood::count(std::size_t announcements, Moment now) {
  for (std::size_t i = 0; i < std::min(announcements, kFloodBegins + 1); ++i) {
    announced.push_back(now.steady);
    if (announced.size() > kFloodBegins + 1) announced.pop_front();
  }
  while (!announced.empty() && now.steady - announced.front() >= kFloodWindow)
    announced.pop_front();
  if (running || recent(now.steady) <= kFloodBegins) return false;
  running = true;
  since = now.wall;
  list_due = now.steady + kFloodWindow;
  return true;
}

bool Flood::high_goes(bool reminder, Steady now) {
  return !last_high || now - *last_high >= (reminder ? kRemindersApart : kHighApart);
}

void Flood::hold_high(bool reminder, Steady now) {
  const Steady due = last_high.value_or(now) + (reminder ? kRemindersApart : kHighApart);
  high_due = high_due ? std::min(*high_due, due) : due;
}

void Flood::high_told(Steady now) {
  last_high = now;
  high_due.reset();
}

void Flood::list_told(Steady now) {
  running = recent(now) >= kFloodEnds;
  list_due = now + kFloodWindow;
  high_due.reset();
  if (!running) last_high.reset();
}

std::optional<Steady> Flood::next_deadline() const {
  if (!running) return std::nullopt;
  return high_due ? std::min(list_due, *high_due) : list_due;
}

Tree tree_of(const Flood& flood, const kept::Clocks& clocks) {
  const auto time = [&](Steady at) { return Tree(to_rfc3339(clocks.wall_of(at))); };
  Tree tree = Tree::map();
  Tree announced = Tree::list();
  for (const Steady at : flood.announced) announced.add(time(at));
  tree.add("announced", std::move(announced));
  if (!flood.running) return tree;
  tree.add("since", Tree(to_rfc3339(flood.since)));
  tree.add("list_due", time(flood.list_due));
  if (flood.last_high) tree.add("last_high", time(*flood.last_high));
  if (flood.high_due) tree.add("high_due", time(*flood.high_due));
  return tree;
}

Flood flood_of(const Tree& tree, const kept::Clocks& clocks) {
  Flood flood;
  for (const auto& [unused, item] : kept::items(tree, "announced"))
    if (const auto at = parse_rfc3339(item.text)) flood.announced.push_back(clocks.steady_of(*at));
  while (flood.announced.size() > kFloodBegins + 1) flood.announced.pop_front();
  const auto due = kept::steady(tree, "list_due", clocks);
  if (!due) return flood;
  flood.running = true;
  flood.list_due = *due;
  flood.since = kept::wall(tree, "since").value_or(clocks.wall);
  flood.last_high = kept::steady(tree, "last_high", clocks);
  flood.high_due = kept::steady(tree, "high_due", clocks);
  return flood;
}

}  // namespace clutchward
