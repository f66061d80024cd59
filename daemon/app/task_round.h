// Which dates of the batches are to be asked for, and that each is asked for once: at a civil hour,
// on its day. Decides and remembers; it writes no words and reads no clock.
#pragma once

#include <optional>
#include <set>
#include <string>
#include <vector>

#include "base/time.h"
#include "base/tree.h"
#include "base/zone.h"
#include "notification/tasks.h"
#include "web/batch_standing.h"

namespace clutchward {

class TaskRound {
 public:
  // The hour of a site that names none.
  static constexpr Span kAt = std::chrono::hours{8};

  // Whether a round is due: the first time `at` passes while it is watched, then once a day. A
  // round that a stopped watch missed is made up for within half a day of its hour, or waits for
  // the next: nobody is asked to candle at night.
  bool due(const Moment& now, Span at, const Zone& zone);

  // The tasks of this round, in order of their time; noted as told. Those of the day, and those of
  // days before that are neither done, told nor past.
  std::vector<Task> take(const std::vector<BatchStanding>& batches, Wall now, const Zone& zone);

  const std::optional<Wall>& last() const { return last_; }
  // As kept with the message: a restart neither repeats nor loses any.
  Tree keep() const;
  void restore(const Tree& tree);

 private:
  std::optional<Wall> last_;    // round, or when watching began
  std::set<std::string> told_;  // "hens-12/candle/1", of running batches
};

}  // namespace clutchward
