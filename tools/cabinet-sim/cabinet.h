// One simulated cabinet: the thermal model, its faults, its probes with their errors, and the
// messages it sends. Simulated time is handed in; the only randomness is a seed of its own, so the
// same settings give the same messages, whatever other cabinets there are.
#pragma once

#include <array>
#include <cstdint>
#include <random>
#include <string>
#include <vector>

#include "fault.h"
#include "model.h"

namespace clutchward::sim {

struct Message {
  std::string topic;
  std::string payload;
  bool operator==(const Message&) const = default;
};

struct CabinetSettings {
  Machine machine{};
  std::string prefix = "farm";
  std::uint64_t seed = 1;
  Span interval = std::chrono::seconds(10);
  Span turn_every = std::chrono::minutes(45);  // 0: no turner
  double day = 3;                              // of incubation, at the start
  double room_c = 20;
  double room_swing_k = 1;     // guess: room above and below room_c over 24 h
  double offset_k = 0.1;       // guess: standard deviation of the probes' fixed errors
  double noise_k = 0.03;       // guess: standard deviation of one reading
  double resolution_k = 0.01;  // 0.1 or 0.01
  bool json = false;
  bool cold_start = false;
};

class Cabinet {
 public:
  // `faults` of other cabinets are left aside.
  Cabinet(std::string id, const CabinetSettings& settings, const std::vector<Fault>& faults);

  const std::string& id() const { return id_; }
  // When something happens next: readings, a turn, a fault's beginning or end.
  Span next() const;
  // Goes on to next() and appends what the cabinet sends then.
  void step(std::vector<Message>& out);

  void add(const Fault& fault);
  // Ends the faults that run at `now`.
  void mend(Span now);
  // Without its errors, for tests.
  const State& state() const { return state_; }
  Span now() const { return now_; }

 private:
  Inputs inputs_at(Span time) const;
  const Fault* running(FaultKind kind, Span time) const;
  bool probe_has(FaultKind kind, std::string_view probe) const;
  double day_at(Span time) const;
  void go_to(Span time);
  void read_probes(std::vector<Message>& out);
  void tell_power(std::vector<Message>& out);
  double gauss();

  std::string id_;
  CabinetSettings settings_;
  std::vector<Fault> faults_;
  std::mt19937_64 random_;
  State state_;
  std::array<double, 3> offsets_{};
  std::array<std::string, 3> last_;  // what each probe said last
  double creep_k_ = 0;
  Span now_{};
  Span next_reading_{};
  Span next_turn_{};
  Span power_told_{};
  std::optional<bool> power_;  // as told last
};

}  // namespace clutchward::sim
