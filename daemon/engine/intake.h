// From (topic, bytes) to readings of known cabinets: patterns are tried once a topic, what they
// found is kept. Counts what it could not read, by reason.
#pragma once

#include <array>
#include <cstdint>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "engine/world.h"
#include "reading/decode.h"

namespace clutchward {

class Intake {
 public:
  explicit Intake(World& world) : world_(world) {}

  // One message at the world's present. False where no pattern wants the topic.
  bool message(std::string_view topic, std::string_view payload, bool retained);

  // Patterns, cabinets or probes have changed: every topic is looked at anew.
  void forget();

  std::uint64_t accepted() const { return accepted_; }
  std::uint64_t rejected(Rejection why) const { return rejected_[static_cast<std::size_t>(why)]; }
  std::uint64_t turned_away() const { return turned_away_; }  // cabinets past max_cabinets
  // The last payload that gave no reading: for the log, printable.
  const std::string& last_rejected() const { return last_rejected_; }

 private:
  static constexpr std::uint32_t kNoPlace = UINT32_MAX;
  // Where the value of one topic (or of one field of it) goes.
  struct Source {
    CabinetWatch* cabinet;
    std::uint32_t text;   // of the topic, in the arena
    std::uint32_t place;  // in cabinet->probes, or in field_places_
    std::uint16_t length;
    std::uint16_t pattern;  // in the settings
    std::uint16_t fields;   // how many entries of field_places_ it has
  };
  static_assert(sizeof(Source) == 24, "there is one a topic");

  Source* find(std::string_view topic);
  Source* learn(std::string_view topic, std::uint32_t hash);
  std::uint32_t place_for(CabinetWatch& cabinet, std::string_view probe, Quantity quantity);
  void take(CabinetWatch& cabinet, std::uint32_t place, Quantity quantity, Decoded value,
            std::string_view payload, bool retained, const std::string& signal);
  void reject(Rejection why, CabinetWatch& cabinet, std::string_view payload);

  World& world_;
  JsonDecoder json_;
  HashIndex index_;  // of sources_, by topic
  std::vector<Source> sources_;
  std::vector<std::uint32_t> field_places_;
  std::string arena_;
  std::uint64_t accepted_ = 0;
  std::uint64_t turned_away_ = 0;
  std::array<std::uint64_t, kRejections> rejected_{};
  std::string last_rejected_;
};

}  // namespace clutchward
