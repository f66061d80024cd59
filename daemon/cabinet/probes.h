// The probes of one cabinet and what they come to together. Temperatures are whole thousandths of a
// degree; a probe is fresh while its last accepted reading is younger than the silence limit.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "base/time.h"
#include "cabinet/settings.h"
#include "reading/reading.h"

namespace clutchward {

// What a probe said within the running minute, for a history.
struct MinuteSum {
  Milli low = 0;
  Milli high = 0;
  std::int32_t sum = 0;
  std::uint32_t count = 0;
};

struct Probe {
  Steady at{};             // of the last accepted reading
  std::uint32_t name = 0;  // in the engine's table of names
  Milli offset = 0;        // added to what it says
  Milli value = 0;
  Quantity quantity = Quantity::temperature;
  Part part = Part::air;
  bool heard : 1 = false;     // an accepted reading has come
  bool retained : 1 = false;  // `value` is old news from the broker: shown, never judged by
  bool left_out : 1 = false;  // not to be believed: it counts only where no other does
  MinuteSum minute;
};

// What rules of kind above and of kind below see.
struct Combined {
  Milli above = 0;
  Milli below = 0;
  bool operator==(const Combined&) const = default;
};

// One quantity of one cabinet, as last combined.
struct Seen {
  Steady last{};         // of the last accepted reading that counts here
  Combined fresh;        // of the fresh probes
  Combined with_silent;  // of the fresh ones and those fallen silent within the last hour
  Milli hottest = 0;     // among the fresh
  Milli coldest = 0;
  Milli hottest_with_silent = 0;
  std::uint8_t fresh_probes = 0;
  bool known = false;  // a reading has ever been combined

  bool current(Steady now, Span silence) const { return known && now - last < silence; }
};

// How long a probe that fell silent still holds a condition up (alarm-semantics, section 3).
inline constexpr Span kSilentProbeCounts = std::chrono::hours{1};

// Median (even count: mean of the middle two, rounded half away from zero), mean, or worst;
// by_count is median from three values on, else worst. `values` must not be empty and is reordered.
Combined combine(std::vector<Milli>& values, Combine how);

// Combines the air probes of `quantity` afresh at `now`, after a reading of one of them. A probe
// that is left out makes no part of the combination while another is fresh, but is still among the
// hottest.
void renew(Seen& seen, std::span<const Probe> probes, Quantity quantity, Combine how, Steady now,
           Span silence);

}  // namespace clutchward
