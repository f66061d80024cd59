// Names of events and states, as they stand in the event stream.
#include "alarm/event.h"

namespace clutchward {

std::string_view name_of(EventKind kind) { return kEventNames[static_cast<std::size_t>(kind)]; }
std::string_view name_of(AlarmState state) {
  return kAlarmStateNames[static_cast<std::size_t>(state)];
}

}  // namespace clutchward
