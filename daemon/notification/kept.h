// How this room's values become trees of text and come back: times, numbers, alarm keys, events.
// What cannot be read is no value; it refuses to guess at it.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "alarm/event.h"
#include "base/time.h"
#include "base/tree.h"

namespace clutchward::kept {

// Ties the clock that never jumps to wall time: deadlines are kept as wall times.
struct Clocks {
  Steady steady;
  Wall wall;  // what stands for `steady`: the wall time, or that of the last save where it is not
              // trusted, so that what was left of each wait goes on

  Wall wall_of(Steady time) const { return wall + (time - steady); }
  Steady steady_of(Wall time) const { return steady + (time - wall); }
};

Tree number(std::int64_t value);
std::int64_t number(const Tree& tree, std::string_view key, std::int64_t otherwise = 0);
std::optional<Wall> wall(const Tree& tree, std::string_view key);
std::optional<Steady> steady(const Tree& tree, std::string_view key, const Clocks& clocks);
bool yes(const Tree& tree, std::string_view key);
std::string text(const Tree& tree, std::string_view key);

// The items of the list of that name; none where it is missing or no list.
const std::vector<std::pair<std::string, Tree>>& items(const Tree& tree, std::string_view key);

// The index of the word under `key`; nothing for an unknown one.
template <std::size_t n>
std::optional<std::size_t> word(const Tree& tree, std::string_view key,
                                const std::array<std::string_view, n>& words) {
  for (std::size_t i = 0; i < n; ++i)
    if (tree.get(key) == words[i]) return i;
  return std::nullopt;
}

Tree strings(const std::vector<std::string>& texts);
std::vector<std::string> strings(const Tree& tree, std::string_view key);

Tree tree_of(const AlarmKey& key);
AlarmKey key_of(const Tree& tree);

Tree tree_of(const AlarmEvent& event);
std::optional<AlarmEvent> event_of(const Tree& tree);
Tree tree_of(const std::vector<AlarmEvent>& events);
std::vector<AlarmEvent> events_of(const Tree& tree, std::string_view key);

}  // namespace clutchward::kept
