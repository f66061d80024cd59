// What a cabinet or a batch keeps only where something asks for it: airings, means, the turner's
// own word. Each stands behind one pointer in world.h, null for everyone else.
#pragma once

#include <cstdint>
#include <deque>
#include <optional>
#include <string>

#include "alarm/life.h"
#include "base/text.h"
#include "base/time.h"
#include "reading/reading.h"

namespace clutchward {

// The airings of one batch whose stage has cooling windows: the last one, and how it went.
struct Airing {
  bool running = false;
  bool judged = true;  // it went well or not; until then the recovery is followed
  bool bad = false;    // the condition of kind cooling; a good airing ends it
  bool risen = true;   // lid: it has warmed up again since its end
  bool fell = false;
  Steady began = kNever;
  Steady ended = kNever;
  std::optional<Milli> before;  // as `below` sees it, when it began
  std::optional<Milli> lowest;  // since it began
  std::optional<Milli> at_end;  // the coldest since: what the lid must have warmed up from
  std::string verdict;          // of the last one, as in CoolingDone
  std::optional<Wall> last;     // when the last one ended that was no mere lifting of the lid
  Wall next_due = Wall::max();  // by hand: the next hour by which one must have been done
};

// The mean of one quantity over the last `window`, as rules of kind above or below see it, in equal
// pieces of time so that a probe that talks more often counts no more.
struct Mean {
  struct Piece {
    std::int64_t number = 0;  // since the steady clock's start, in pieces
    std::int64_t sum = 0;
    std::int32_t count = 0;
  };
  Quantity quantity = Quantity::temperature;
  bool below = false;
  Span window{0};
  std::deque<Piece> pieces;
  std::optional<Milli> now;  // none while less than half of the window was heard
};

// What a turner that tells more than its turns was last heard to say.
struct TurnerWatch {
  Steady side_at = kNever;
  std::int8_t side = 0;  // -1 left, 1 right, 0 never told
  bool runs = false;     // it tells how long it ran
};

}  // namespace clutchward
