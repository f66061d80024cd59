// The dead-man beat: a sign of life to outside watchers, given only while the watch does its work.
// What it does not give is the message. Decides and counts; it opens no connection.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/time.h"
#include "cabinet/settings.h"

namespace clutchward {

// How the watch stands, as far as a beat is concerned.
struct Pulse {
  std::uint64_t readings = 0;  // accepted since the start
  bool writable = true;
  bool can_tell = true;  // the last try of at least one channel did not fail
};

class Beats {
 public:
  explicit Beats(const Settings& settings) { configure(settings); }
  void configure(const Settings& settings);

  // The beats to give now, as indices. Withheld ones are not made up for later.
  std::vector<std::size_t> take_due(const Pulse& pulse, Steady now);
  // Why none is given; "" while they are.
  const std::string& withheld() const { return withheld_; }
  const std::vector<BeatSettings>& all() const { return beats_; }
  std::optional<Steady> next_deadline() const;
  // The beats with an address as the channels of one contact.
  Settings channels(const std::string& site) const;

 private:
  std::vector<BeatSettings> beats_;
  Span heard_{0};  // readings younger than this are life
  std::vector<Steady> due_;
  std::uint64_t readings_ = 0;
  std::optional<Steady> heard_at_;
  std::string withheld_;
};

}  // namespace clutchward
