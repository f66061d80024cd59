// Curves for the pages: a curve that was just made is given out again, one that is being made is
// waited for a moment and no longer. A page that shows an alarm must not wait for a disk.
#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <string>

#include "web/curve.h"

namespace clutchward {

class CurveDesk {
 public:
  // Null: it does not come in time, too many are asked for, or no history is kept.
  using Done = std::function<void(Curve)>;

  CurveDesk();

  // `key` names what is wanted: the same key within a minute is the same curve. Answers within the
  // call or in a later turn, once.
  void ask(const AskCurve& door, const std::string& key, CurveWanted wanted, Steady now, Done done);
  // Answers those that have waited for long enough.
  void turn(Steady now);
  std::optional<Steady> next() const;

 private:
  struct Parts;
  std::shared_ptr<Parts> parts_;  // also of the answers that are still to come
};

}  // namespace clutchward
