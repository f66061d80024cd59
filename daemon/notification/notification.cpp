// Names of the urgencies, as they stand in webhooks, mails and the kept state.
#include "notification/notification.h"

namespace clutchward {

std::string_view name_of(Urgency urgency) {
  return kUrgencyNames[static_cast<std::size_t>(urgency)];
}

Urgency urgency_of(Priority priority) {
  switch (priority) {
    case Priority::low:
      return Urgency::low;
    case Priority::medium:
      return Urgency::medium;
    case Priority::high:
      return Urgency::high;
  }
  return Urgency::high;
}

}  // namespace clutchward
