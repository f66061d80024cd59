// What the pages work with: the door to the rest of the program, the gate, the open event streams
// and what happened lately. One for a server; lives as long as it does.
#pragma once

#include <deque>
#include <functional>
#include <vector>

#include "alarm/event.h"
#include "web/curve_desk.h"
#include "web/gate.h"
#include "web/looks.h"
#include "web/slices.h"
#include "web/streams.h"
#include "web/web_door.h"

namespace clutchward {

struct Site {
  WebDoor door;
  Gate gate;
  Streams streams;
  CurveDesk curves;
  Looks looks;
  Slices slices;
  std::deque<AlarmEvent> lately;  // newest last
};

// Carries all of them out, in order; `done` gets the replies once the last is durable.
void carry_out_all(const WebDoor& door, std::vector<Command> commands,
                   const std::function<void(std::vector<Reply>)>& done);

}  // namespace clutchward
