// The table of known topics and what becomes of one message. Topics that no pattern wants are not
// kept, so a stranger's topics cost no memory.
#include "engine/intake.h"

#include "base/limits.h"
#include "engine/readings.h"

namespace clutchward {
namespace {

bool has_place(Quantity quantity) { return is_degrees(quantity) || quantity == Quantity::humidity; }

}  // namespace

void Intake::forget() {
  index_.clear();
  sources_.clear();
  field_places_.clear();
  arena_.clear();
}

Intake::Source* Intake::find(std::string_view topic) {
  const std::uint32_t hash = HashIndex::hash_of(topic);
  const auto found = index_.find(hash, [&](std::uint32_t at) {
    const Source& source = sources_[at];
    // With many cabinets each of these lines is a miss: ask for them together.
    __builtin_prefetch(source.cabinet);
    __builtin_prefetch(reinterpret_cast<const char*>(source.cabinet) + 64);
    return topic == std::string_view(arena_).substr(source.text, source.length);
  });
  return found ? &sources_[*found] : learn(topic, hash);
}

std::uint32_t Intake::place_for(CabinetWatch& cabinet, std::string_view probe, Quantity quantity) {
  if (!has_place(quantity)) return 0;
  return probe_of(world_, cabinet, probe.empty() ? "main" : std::string(probe), quantity)
      .value_or(kNoPlace);
}

Intake::Source* Intake::learn(std::string_view topic, std::uint32_t hash) {
  if (topic.size() > limits::kTopicBytes) return nullptr;
  for (const TopicPattern& pattern : world_.settings.patterns) {
    const auto match = clutchward::match(pattern, topic);
    if (!match) continue;
    CabinetWatch* cabinet = cabinet_of(world_, std::string(match->cabinet));
    if (cabinet == nullptr) {
      ++turned_away_;
      return nullptr;
    }
    const auto number = static_cast<std::uint16_t>(&pattern - world_.settings.patterns.data());
    if (cabinet->pattern == 0) cabinet->pattern = static_cast<std::uint16_t>(number + 1);
    Source source{cabinet, static_cast<std::uint32_t>(arena_.size()),
                  0,       static_cast<std::uint16_t>(topic.size()),
                  number,  0};
    if (pattern.fields.empty()) {
      source.place = place_for(*cabinet, match->probe, *pattern.quantity);
    } else {
      source.place = static_cast<std::uint32_t>(field_places_.size());
      source.fields = static_cast<std::uint16_t>(pattern.fields.size());
      for (const FieldPattern& field : pattern.fields)
        field_places_.push_back(
            place_for(*cabinet, field.probe.empty() ? match->probe : std::string_view(field.probe),
                      field.quantity));
    }
    arena_.append(topic);
    sources_.push_back(source);
    index_.insert(hash, static_cast<std::uint32_t>(sources_.size() - 1));
    return &sources_.back();
  }
  return nullptr;
}

void Intake::reject(Rejection why, CabinetWatch& cabinet, std::string_view payload) {
  ++rejected_[static_cast<std::size_t>(why)];
  if (why == Rejection::empty) return;
  last_rejected_ = cabinet.id + ": " + std::string(name_of(why)) + ": " + printable(payload, 80);
}

void Intake::take(CabinetWatch& cabinet, std::uint32_t place, Quantity quantity, Decoded value,
                  std::string_view payload, bool retained, const std::string& signal) {
  if (const auto* why = std::get_if<Rejection>(&value)) {
    reject(*why, cabinet, payload);
    if (*why == Rejection::implausible && cabinet.has_early && has_place(quantity) &&
        place != kNoPlace && !retained)
      implausible_reading(world_, cabinet, place);
    return;
  }
  if (place == kNoPlace) {
    reject(Rejection::unknown_probe, cabinet, payload);
    return;
  }
  const Milli number = std::get<Milli>(value);
  if (!can_be(world_, cabinet, quantity, number)) {
    reject(Rejection::above_dry_bulb, cabinet, payload);
    return;
  }
  ++accepted_;
  if (has_place(quantity)) {
    if (retained)
      old_news(world_, cabinet, place, number);
    else
      probe_reading(world_, cabinet, place, number);
    return;
  }
  if (retained) return;
  if (quantity == Quantity::turn || quantity == Quantity::turn_run ||
      quantity == Quantity::turn_side) {
    turner_says(world_, cabinet, quantity, number);
    reschedule(world_, cabinet);
  } else if (quantity == Quantity::cooling) {
    machine_cooling(world_, cabinet, number != 0);
    reschedule(world_, cabinet);
  } else if (quantity == Quantity::signal) {
    signal_reading(world_, cabinet, signal, number != 0);
  } else {
    power_reading(world_, cabinet, number != 0);
  }
}

bool Intake::message(std::string_view topic, std::string_view payload, bool retained) {
  const Source* found = find(topic);
  if (found == nullptr) return false;
  const Source source = *found;  // a reading may make new ones known
  const TopicPattern& pattern = world_.settings.patterns[source.pattern];
  if (source.fields == 0) {
    take(*source.cabinet, source.place, *pattern.quantity,
         decode_plain(payload, *pattern.quantity, pattern.unit), payload, retained, pattern.signal);
    return true;
  }
  std::size_t i = 0;
  for (const FieldReading& reading : json_.decode(payload, pattern.fields))
    take(*source.cabinet, field_places_[source.place + i++], reading.field->quantity, reading.value,
         payload, retained, reading.field->signal);
  return true;
}

}  // namespace clutchward
