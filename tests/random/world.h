// A random farm and what happens to it, made from a seed: everything a test plays is made first, so
// that it can be played twice. Nothing here knows how the engine decides.
#pragma once

#include <random>
#include <string>
#include <vector>

#include "engine/engine.h"

namespace clutchward::hostile {

inline constexpr Wall kStart{Span{1772352000000}};  // 2026-03-01T08:00:00Z
inline constexpr Steady kBoot{Span{500'000}};
// The rule that the oracle follows: machine's, on cabinets with one probe, never taken out of
// service.
inline constexpr const char* kWatched = "oracle";

class Dice {
 public:
  explicit Dice(unsigned seed) : engine_(seed) {}
  // 0 ... n - 1
  int below(int n) { return static_cast<int>(engine_() % static_cast<unsigned>(n)); }
  bool one_in(int n) { return below(n) == 0; }
  template <class T>
  const T& of(const std::vector<T>& all) {
    return all[below(static_cast<int>(all.size()))];
  }

 private:
  std::mt19937 engine_;
};

enum class What : std::uint8_t { message, command, link, wall_step, configure };

struct Step {
  Span after{0};  // the start; not always rising: a clock of a stranger
  What what = What::message;
  std::string topic;
  std::string payload;
  bool retained = false;
  Command command;
  bool up = true;  // link
  Span jump{0};    // wall_step
};

struct Wishes {
  bool link = true;  // lose the broker now and then
  bool wall_steps = true;
  bool configure = true;  // give a changed configuration now and then
  int steps = 250;
};

Settings random_settings(Dice& dice);
// The same farm with some rules changed, on or off; the watched rule stays.
Settings changed(const Settings& settings, Dice& dice);
std::vector<Step> random_steps(const Settings& settings, const Wishes& wishes, Dice& dice);

}  // namespace clutchward::hostile
