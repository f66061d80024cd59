// The table of known topics and what becomes of one message. Topics that no pattern wants are not
// kept, so a stranger's topics cost no memory.
#include "engine/intake.h"

#include <functional>

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
  shapes_.clear();
  shape_index_.clear();
}

Intake::Source* Intake::find(std::string_view topic, std::string_view payload) {
  const std::uint32_t hash = HashIndex::hash_of(topic);
  const auto found = index_.find(hash, [&](std::uint32_t at) {
    const Source& source = sources_[at];
    const CabinetWatch& cabinet = *world_.cabinets[source.cabinet];
    // With many cabinets each of these lines is a miss: ask for them together.
    __builtin_prefetch(&cabinet);
    __builtin_prefetch(reinterpret_cast<const char*>(&cabinet) + 64);
    const Shape& shape = *shapes_[source.shape];
    if (!shape.has_id) return topic == shape.before;
    return topic.size() == shape.before.size() + cabinet.id.size() + shape.behind.size() &&
           topic.starts_with(shape.before) && topic.ends_with(shape.behind) &&
           topic.substr(shape.before.size(), cabinet.id.size()) == cabinet.id;
  });
  return found ? &sources_[*found] : learn(topic, hash, payload);
}

std::uint32_t Intake::place_for(CabinetWatch& cabinet, std::string_view probe, Quantity quantity) {
  if (!has_place(quantity)) return 0;
  return probe_of(world_, cabinet, probe.empty() ? "main" : std::string(probe), quantity)
      .value_or(kNoPlace);
}

std::uint32_t Intake::shape_of(std::string_view topic, std::string_view cabinet) {
  const std::less_equal<const char*> not_after;
  const bool has_id = !cabinet.empty() && not_after(topic.data(), cabinet.data()) &&
                      not_after(cabinet.data() + cabinet.size(), topic.data() + topic.size());
  Shape shape{std::string(topic), "", has_id};
  if (has_id) {
    const auto at = static_cast<std::size_t>(cabinet.data() - topic.data());
    shape.before.resize(at);
    shape.behind = topic.substr(at + cabinet.size());
  }
  const auto [found, is_new] =
      shape_index_.emplace(std::move(shape), static_cast<std::uint32_t>(shapes_.size()));
  if (is_new) shapes_.push_back(&found->first);
  return found->second;
}

Intake::Source* Intake::learn(std::string_view topic, std::uint32_t hash,
                              std::string_view payload) {
  if (topic.size() > limits::kTopicBytes) return nullptr;
  for (const TopicPattern& pattern : world_.settings.patterns) {
    const auto match = clutchward::match(pattern, topic);
    if (!match) continue;
    if (!match->unfit.empty()) {
      ++rejected_[static_cast<std::size_t>(Rejection::bad_name)];
      last_rejected_ = "the topic " + printable(topic, 120) +
                       ": bad_name: " + printable(match->unfit, 64) +
                       " names no cabinet or probe; expected 1 to 64 bytes without blanks";
      return nullptr;
    }
    const std::string id(match->cabinet);
    // What is rejected makes nothing known: a stray topic is no machine that fell silent.
    if (find_cabinet(world_, id) == nullptr && !brings_anything(pattern, id, payload))
      return nullptr;
    CabinetWatch* cabinet = cabinet_of(world_, id);
    if (cabinet == nullptr) {
      ++turned_away_;
      return nullptr;
    }
    const auto number = static_cast<std::uint16_t>(&pattern - world_.settings.patterns.data());
    if (cabinet->pattern == 0) cabinet->pattern = static_cast<std::uint16_t>(number + 1);
    const std::uint32_t place =
        pattern.fields.empty() ? place_for(*cabinet, match->probe, *pattern.quantity) : 0;
    // One more name for a probe each time is nothing to remember.
    if (place == kNoPlace ||
        sources_.size() >= limits::kTopicsPerCabinet * world_.cabinets.size()) {
      reject(Rejection::unknown_probe, id, payload);
      return nullptr;
    }
    Source source{cabinet->index, shape_of(topic, match->cabinet), place, number, 0};
    if (!pattern.fields.empty()) {
      source.place = static_cast<std::uint32_t>(field_places_.size());
      source.fields = static_cast<std::uint16_t>(pattern.fields.size());
      for (const FieldPattern& field : pattern.fields)
        field_places_.push_back(
            place_for(*cabinet, field.probe.empty() ? match->probe : std::string_view(field.probe),
                      field.quantity));
    }
    sources_.push_back(source);
    index_.insert(hash, static_cast<std::uint32_t>(sources_.size() - 1));
    return &sources_.back();
  }
  return nullptr;
}

bool Intake::brings_anything(const TopicPattern& pattern, const std::string& id,
                             std::string_view payload) {
  bool any = false;
  const auto look = [&](const Decoded& value) {
    if (const auto* why = std::get_if<Rejection>(&value))
      reject(*why, id, payload);
    else
      any = true;
  };
  if (pattern.fields.empty())
    look(decode_plain(payload, *pattern.quantity, pattern.unit));
  else
    for (const FieldReading& reading : json_.decode(payload, pattern.fields)) look(reading.value);
  return any;
}

void Intake::reject(Rejection why, const std::string& cabinet, std::string_view payload) {
  ++rejected_[static_cast<std::size_t>(why)];
  if (why == Rejection::empty) return;
  last_rejected_ = cabinet + ": " + std::string(name_of(why)) + ": " + printable(payload, 80);
}

void Intake::take(CabinetWatch& cabinet, std::uint32_t place, Quantity quantity, Decoded value,
                  std::string_view payload, bool retained, const std::string& signal) {
  if (const auto* why = std::get_if<Rejection>(&value)) {
    reject(*why, cabinet.id, payload);
    if (*why == Rejection::implausible && cabinet.has_early && has_place(quantity) &&
        place != kNoPlace && !retained)
      implausible_reading(world_, cabinet, place);
    return;
  }
  if (place == kNoPlace) {  // of a message with several values
    reject(Rejection::unknown_probe, cabinet.id, payload);
    return;
  }
  const Milli number = std::get<Milli>(value);
  if (!can_be(world_, cabinet, quantity, number)) {
    reject(Rejection::above_dry_bulb, cabinet.id, payload);
    return;
  }
  if (quantity == Quantity::temperature && cabinet.has_early && !retained &&
      is_error_value(world_, cabinet, place, number)) {
    reject(Rejection::implausible, cabinet.id, payload);
    implausible_reading(world_, cabinet, place);
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
  const Source* found = find(topic, payload);
  if (found == nullptr) return false;
  const Source source = *found;  // a reading may make new ones known
  CabinetWatch& cabinet = *world_.cabinets[source.cabinet];
  const TopicPattern& pattern = world_.settings.patterns[source.pattern];
  if (source.fields == 0) {
    take(cabinet, source.place, *pattern.quantity,
         decode_plain(payload, *pattern.quantity, pattern.unit), payload, retained, pattern.signal);
    return true;
  }
  std::size_t i = 0;
  for (const FieldReading& reading : json_.decode(payload, pattern.fields))
    take(cabinet, field_places_[source.place + i++], reading.field->quantity, reading.value,
         payload, retained, reading.field->signal);
  return true;
}

}  // namespace clutchward
