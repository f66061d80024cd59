// Every cabinet of the site, or every one of a pattern, silent at once: one cause (the radio, a
// gateway, the mains), told once. Where the broker's connection is lost that is told instead.
#include <algorithm>
#include <map>

#include "base/check.h"
#include "engine/world.h"

namespace clutchward {
namespace {

using Group = std::vector<const CabinetWatch*>;

// The whole site first, then each pattern's cabinets; only what was ever heard, and never one
// alone.
std::vector<Group> groups_of(const World& world) {
  Group all;
  std::map<std::uint16_t, Group> by_pattern;
  for (const auto& cabinet : world.cabinets) {
    if (!cabinet->temperature.known) continue;
    all.push_back(cabinet.get());
    if (cabinet->pattern != 0) by_pattern[cabinet->pattern].push_back(cabinet.get());
  }
  std::vector<Group> groups;
  if (all.size() >= 2) groups.push_back(all);
  for (auto& [pattern, group] : by_pattern)
    if (group.size() >= 2 && group.size() < all.size()) groups.push_back(std::move(group));
  return groups;
}

Steady silent_from(const Group& group, const Rule& rule) {
  Steady last{};
  for (const CabinetWatch* cabinet : group) last = std::max(last, silence_base(*cabinet));
  return last + rule.after;
}

std::optional<Group> silent_group(const World& world, const Rule& rule) {
  for (Group& group : groups_of(world))
    if (silent_from(group, rule) <= world.present.steady) return std::move(group);
  return std::nullopt;
}

// 0: the whole site, else the pattern that they all have.
std::uint16_t pattern_of(const World& world, const Group& group) {
  std::size_t known = 0;
  for (const auto& cabinet : world.cabinets) known += cabinet->temperature.known ? 1 : 0;
  return group.size() == known ? 0 : group.front()->pattern;
}

std::string clock_of(const World& world, Wall time) {
  const auto local = world.zone.to_local(time);
  const auto minutes =
      std::chrono::floor<std::chrono::minutes>(local - std::chrono::floor<std::chrono::days>(local))
          .count();
  const auto two = [](std::int64_t value) {
    return (value < 10 ? "0" : "") + std::to_string(value);
  };
  return two(minutes / 60) + ":" + two(minutes % 60);
}

}  // namespace

std::optional<bool> judge_all_silent(World& world, const Rule& rule) {
  const auto group = silent_group(world, rule);
  const bool now = group.has_value();
  if (group) world.silent_pattern = pattern_of(world, *group);
  if (now != world.all_silent)
    for (const auto& cabinet : world.cabinets) show(world, *cabinet);
  world.all_silent = now;
  return now;
}

Steady all_silent_due(const World& world, const Rule& rule) {
  // No two are known yet: whatever comes together from now on cannot be due before.
  const auto groups = groups_of(world);
  Steady first = groups.empty() ? world.present.steady + rule.after : kNever;
  for (const Group& group : groups) first = std::min(first, silent_from(group, rule));
  return first;
}

std::string all_silent_words(const World& world, const Rule& rule) {
  auto group = silent_group(world, rule);
  if (!group) return {};
  std::sort(group->begin(), group->end(), [](const CabinetWatch* a, const CabinetWatch* b) {
    const Steady one = silence_base(*a);
    const Steady other = silence_base(*b);
    return one != other ? one < other : a->id < b->id;
  });
  std::string names;
  std::size_t dark = 0;
  std::size_t with_mains = 0;
  for (const CabinetWatch* cabinet : *group) {
    names += (names.empty() ? "" : ", ") + cabinet->id;
    if (!cabinet->power) continue;
    ++with_mains;
    dark += *cabinet->power ? 0 : 1;
  }
  const Wall first = world.wall_of(silence_base(*group->front()));
  std::string text = std::to_string(group->size()) + " cabinets, none of them heard: " + names +
                     "; the first to fall silent was " + group->front()->id + " at " +
                     clock_of(world, first);
  if (with_mains > 0 && dark == with_mains) return text + "; their mains were lost before";
  return text + "; the broker answers, so look at the gateway, the radio and the mains";
}

bool part_of_all_silent(const World& world, const CabinetWatch& cabinet) {
  return world.all_silent && cabinet.temperature.known &&
         (world.silent_pattern == 0 || world.silent_pattern == cabinet.pattern);
}

}  // namespace clutchward
