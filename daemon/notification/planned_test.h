// The words of the test message that comes by the calendar. Words only; whoever calls it knows the
// hour.
#pragma once

#include "notification/notification.h"
#include "notification/wording.h"

namespace clutchward {

Notification write_planned_test(const TestSettings& test, const Manner& manner);

}  // namespace clutchward
