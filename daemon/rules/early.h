// The keys of the rules that speak up before a limit is reached, of probe health and of on/off
// signals: as one layer says them, and as they hold. Defaults are those of alarm-semantics section
// 7 where it names them; the others are proposals, measured by tools/bench (group early).
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "base/text.h"
#include "base/time.h"
#include "reading/signal.h"

namespace clutchward {

enum class Towards : std::uint8_t { high, low };

struct EarlyPatch {
  std::optional<Span> window;         // rate: of the slope
  std::optional<Span> ahead;          // rate: how soon the limit would be reached
  std::optional<Towards> towards;     // rate: which limit
  std::optional<Milli> lambda;        // trend, thousandths
  std::optional<Milli> sigmas;        // trend: width of the limits, thousandths
  std::optional<Milli> at_least;      // trend: never narrower than this
  std::optional<Span> learn;          // trend: how long the spread is learned
  std::optional<Span> lag;            // quantity egg: time constant
  std::optional<int> confirm;         // above, below: so many readings in a row
  std::optional<std::string> signal;  // signal: its name
  std::optional<bool> bad;            // signal: the state that is wrong, true: on
  std::optional<Span> frozen;         // probe: no change for so long while the others move
  std::optional<Span> alone;          // probe: no change for so long where no other says anything
  bool operator==(const EarlyPatch&) const = default;
};

struct EarlyRule {
  Span window{std::chrono::minutes{10}};
  Span ahead{std::chrono::minutes{20}};
  Towards towards = Towards::high;
  int confirm = 1;
  Milli lambda = 200;
  Milli sigmas = 3'000;
  Milli at_least = 300;  // three steps of the coarsest common probe
  Span learn{std::chrono::hours{3}};
  std::optional<Span> lag;  // none: by kind and age, see egg_lag()
  std::string signal;
  bool bad = true;
  Span frozen{std::chrono::minutes{30}};
  Span alone{std::chrono::hours{6}};
  bool operator==(const EarlyRule&) const = default;
};

void lay_over(EarlyPatch& below, const EarlyPatch& above);
EarlyRule complete(const EarlyPatch& patch);

}  // namespace clutchward
