// The JSON of an alarm event read back, with what the history notes beside it.
#pragma once

#include <optional>
#include <string_view>

#include "alarm/event.h"

namespace clutchward {

struct NotedEvent {
  AlarmEvent event;
  // As they were noted; the defaults where they were not.
  RuleKind kind = RuleKind::above;
  Quantity quantity = Quantity::temperature;
  Priority priority = Priority::medium;
};

// None where it is no event: no object, no time, no alarm, an unknown word in `event`.
std::optional<NotedEvent> parse_event(std::string_view json);

}  // namespace clutchward
