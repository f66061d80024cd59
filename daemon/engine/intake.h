// From (topic, bytes) to readings of known cabinets: patterns are tried once a topic, what they
// found is kept. Counts what it could not read, by reason.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <memory>
#include <string>
#include <string_view>
#include <tuple>
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
    std::uint32_t cabinet;  // in the world's
    std::uint32_t shape;    // of the topic, in shapes_
    std::uint32_t place;    // in its probes, or in field_places_
    std::uint16_t pattern;  // in the settings
    std::uint16_t fields;   // how many entries of field_places_ it has
  };
  static_assert(sizeof(Source) == 16, "there is one a topic");
  // A topic is what stands before the cabinet's id, the id, and what stands behind it: the same for
  // all cabinets of one make, so that it need not be kept for each.
  struct Shape {
    std::string before;
    std::string behind;
    bool has_id = true;  // false: `before` is all of it, no level of the topic names the cabinet
    bool operator<(const Shape& other) const {
      return std::tie(before, behind, has_id) < std::tie(other.before, other.behind, other.has_id);
    }
  };

  Source* find(std::string_view topic, std::string_view payload);
  Source* learn(std::string_view topic, std::uint32_t hash, std::string_view payload);
  std::uint32_t shape_of(std::string_view topic, std::string_view cabinet);
  std::uint32_t place_for(CabinetWatch& cabinet, std::string_view probe, Quantity quantity);
  void take(CabinetWatch& cabinet, std::uint32_t place, Quantity quantity, Decoded value,
            std::string_view payload, bool retained, const std::string& signal);
  // Whether a message of a cabinet that is not known yet brings a value; what it lacks is counted.
  bool brings_anything(const TopicPattern& pattern, const std::string& id,
                       std::string_view payload);
  void reject(Rejection why, const std::string& cabinet, std::string_view payload);

  World& world_;
  JsonDecoder json_;
  HashIndex index_;  // of sources_, by topic
  std::vector<Source> sources_;
  std::vector<std::uint32_t> field_places_;
  std::vector<const Shape*> shapes_;  // keys of shape_index_
  std::map<Shape, std::uint32_t> shape_index_;
  std::uint64_t accepted_ = 0;
  std::uint64_t turned_away_ = 0;
  std::array<std::uint64_t, kRejections> rejected_{};
  std::string last_rejected_;
};

}  // namespace clutchward
