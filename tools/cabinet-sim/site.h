// All cabinets of a simulation in the order of their messages. Pure: time is handed in.
#pragma once

#include <queue>
#include <vector>

#include "cabinet.h"

namespace clutchward::sim {

class Site {
 public:
  Site(const std::vector<std::string>& names, const CabinetSettings& settings,
       const std::vector<Fault>& faults);

  // When the next message or change is due.
  Span next() const { return due_.top().at; }
  // Does what is due at next(); messages are appended.
  void step(std::vector<Message>& out);

  // "CABINET:FAULT[@TIME][+DURATION][=SIZE]", where no time means `now`, or "CABINET:mend", which
  // ends every fault that runs in it. The answer says what was done or why not.
  Result<std::string> order(std::string_view text, Span now);

 private:
  struct Due {
    Span at;
    std::size_t cabinet;
    // A cabinet that an order gave an earlier due time has two entries; the stale one finds
    // nothing due and goes.
    bool operator>(const Due& other) const {
      return at != other.at ? at > other.at : cabinet > other.cabinet;
    }
  };
  std::vector<Cabinet> cabinets_;
  std::priority_queue<Due, std::vector<Due>, std::greater<>> due_;
};

}  // namespace clutchward::sim
