// Two small witnesses, written from alarm-semantics alone: which event may follow which in one
// alarm's life, and when a rule of kind above on a single probe must be raised and return.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "engine/engine.h"

namespace clutchward::hostile {

// What the event stream says of one alarm.
struct Told {
  bool active = false;
  bool acknowledged = false;
  bool owed = false;  // raised, and neither return nor person has closed it
  bool snoozed = false;
  bool out = false;
};

class Transitions {
 public:
  // The sentence that says why the event may not come now; empty where it may. `latched_after`:
  // what the engine shows after it.
  std::string take(const AlarmEvent& event);
  const Told* find(const AlarmKey& key) const;

  // An alarm keeps its life where its batch moves.
  static std::string name(const AlarmKey& key) {
    return (key.batch.empty() ? "cabinet " + key.cabinet : "batch " + key.batch) + " " + key.alarm;
  }

 private:
  std::map<std::string, Told> told_;
};

// Raised and returned of one `above` rule with one probe: its own arithmetic, its own clock.
class DelayOracle {
 public:
  struct Rule {
    Milli limit = 0;
    Milli deadband = 200;
    Span delay{0};
    Span clear_delay{0};
    Span silence{0};
  };
  explicit DelayOracle(Rule rule) : rule_(rule) {}

  // Everything due strictly before `at` happens; then, where there is one, the accepted reading.
  void reach(Span at);
  void reading(Span at, Milli value);
  // The end: what is due at `at`, too.
  void finish(Span at);
  // "1234 raised", in the order of time.
  const std::vector<std::string>& expected() const { return expected_; }

 private:
  void fire(Span until, bool inclusive);
  void say(Span at, const char* word) {
    expected_.push_back(std::to_string(at.count()) + " " + word);
  }

  Rule rule_;
  bool condition_ = false;
  bool active_ = false;
  bool waits_ = false;
  std::optional<Span> due_;    // on-delay or off-delay
  std::optional<Span> heard_;  // the last accepted reading
  std::vector<std::string> expected_;
};

}  // namespace clutchward::hostile
