// What is kept of a cabinet's past readings for the rules that ask for it: the line through the
// last minutes (rate), the chart of one-minute means (trend), the eggs' estimated temperature. A
// cabinet without such rules has none of it. Internal to this room.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/time.h"
#include "rules/rule.h"
#include "statistics/chart.h"
#include "statistics/line.h"

namespace clutchward {

// The readings of the last `length`, gathered in sixty spans so that a probe that talks every
// second costs no more than one that talks every ten. Of a straight line the means are as straight.
class Window {
 public:
  void take(Steady at, double value, Span length);
  void clear() { bins_.clear(); }
  // Whether the readings reach back over the whole of it without a hole of half its length.
  bool covers(Steady now, Span length) const { return !bins_.empty() && since_ <= now - length; }
  // Through what is no older than `length`: x in minutes from `now` (0 is now), y as taken.
  std::optional<Line> line(Steady now, Span length) const;
  Span reach(Steady now) const { return bins_.empty() ? Span{0} : now - since_; }

  // As it is kept: age in milliseconds and value, in turn.
  std::string text(Steady now) const;
  void read(std::string_view text, Steady now, Span length, Span since);

 private:
  struct Bin {
    Steady begins{};
    double minutes = 0;  // sum, from its beginning
    double value = 0;    // sum
    std::uint32_t count = 0;
  };
  std::vector<Bin> bins_;  // by time
  Steady since_{};
  Steady last_{};
};

// The chart of one rule of kind trend.
struct Trending {
  std::vector<std::int32_t> learning;  // one-minute means, thousandths; empty once learned
  bool learned = false;
  double centre = 0;  // thousandths
  double sigma = 0;
  double lag1 = 0;
  Milli target = 0;         // of the batch as it was then: the centre moves with it
  Ewma ewma;                // from the centre
  std::int64_t minute = 0;  // the one being gathered, since the clock's beginning
  double sum = 0;
  std::uint32_t count = 0;
  Steady last{};   // of the last minute taken
  Steady rests{};  // a new target: nothing is taken before
  bool outside = false;

  double half_width(const EarlyRule& rule) const;
  // A reading; one that does not count (warming up, cooling, somebody at the machine) only passes
  // the time. True where a minute was closed by it.
  bool take(Steady at, double value, bool counts, const EarlyRule& rule);
  // The batch's target as it is now: the centre moves with it, and nothing is taken for `rest`.
  void aim(Milli at, Steady now, Span rest);

 private:
  void take_minute(double mean, Steady at, const EarlyRule& rule);
  void learn();
};

// The eggs' temperature as one rule sees it.
struct EggEstimate {
  double celsius = 0;
  double air = 0;  // at the last reading
  Steady at{};
  Steady unknown_since{};
  bool known = false;

  void take(Steady now, double value, double time_constant_min);
  // Until three time constants after the start or a hole the estimate is a guess.
  bool settled(Steady now, double time_constant_min) const;
};

// What one rule of one batch (or of the machine) keeps.
struct Track {
  std::string batch;  // "" : the machine's
  std::string rule;
  Window window;
  Trending trend;
  EggEstimate egg;
};

}  // namespace clutchward
