// When the planned test message goes out: on its days at its hour, once, over restarts and steps of
// the clock. Decides and remembers; it writes no words and reads no clock.
#pragma once

#include <optional>

#include "base/time.h"
#include "base/tree.h"
#include "base/zone.h"
#include "cabinet/settings.h"

namespace clutchward {

class TestRound {
 public:
  // Whether the test is due. One that a stopped watch missed is made up for within half a day of
  // its hour, or waits for the next. Never while nobody vouches for the clock.
  bool due(const Moment& now, const TestSettings& settings, const Zone& zone);
  void told(Wall at) { last_ = at; }

  const std::optional<Wall>& last() const { return last_; }
  // As kept with the message: a restart neither repeats nor loses one.
  Tree keep() const;
  void restore(const Tree& tree) { last_ = parse_rfc3339(tree.get("last")); }

 private:
  std::optional<Wall> last_;  // test, or when watching began
};

}  // namespace clutchward
