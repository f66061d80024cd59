// One alarm that comes and goes: when that is too often, and which deadband or delay would have
// stopped it. Numbers only; it tells nobody.
#pragma once

#include <deque>
#include <optional>

#include "notification/kept.h"

namespace clutchward {

struct Chatter {
  // Three times in a minute (a good starting criterion, as a secondary article on ISA-18.2 says).
  static constexpr std::size_t kRaises = 3;
  static constexpr Span kWindow = std::chrono::minutes{1};

  std::deque<Steady> raised;  // the newest of a run, none older than kRun before the next
  Span longest{0};            // active, from raised to returned
  Milli swing = 0;            // from the limit to where it was on its return
  bool told = false;
  bool operator==(const Chatter&) const = default;

  // True: with this one it chatters, and that has not been told of this run.
  bool raise(Steady now);
  void give_back(std::optional<Milli> value, std::optional<Milli> limit, Steady now);
  // Mean over successive annunciations of 1/r, r the seconds between two of them, at least 1
  // (Kondaveeti's index as a secondary article gives it); bad from 0.05 a second on.
  double index() const;
};

Tree tree_of(const Chatter& chatter, const kept::Clocks& clocks);
Chatter chatter_of(const Tree& tree, const kept::Clocks& clocks);

}  // namespace clutchward
