// One-minute aggregates of what the probes say, gathered as readings come and handed out as plain
// values for whoever keeps a history. It keeps no file and forgets what has been taken.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "reading/reading.h"

namespace clutchward {

// What one probe said of one quantity within one minute of wall time.
struct MinuteMean {
  std::string cabinet;
  std::string probe;
  Quantity quantity = Quantity::temperature;
  std::int64_t minute = 0;  // since 1970-01-01T00:00Z
  Milli low = 0;
  Milli mean = 0;  // rounded half away from zero
  Milli high = 0;
  std::uint32_t count = 0;
  bool operator==(const MinuteMean&) const = default;
};

// Which minute is the running one of a cabinet; its sums stand with the probes.
struct MinuteBook {
  std::int32_t minute = 0;  // since 1970-01-01T00:00Z: good for four thousand years
  bool open = false;        // holds readings, and stands in the world's list
};

struct World;
struct CabinetWatch;
// What was gathered of one cabinet and not taken yet, the running minute as far as it goes.
std::vector<MinuteMean> minutes_so_far(const World& world, const CabinetWatch& cabinet);

}  // namespace clutchward
