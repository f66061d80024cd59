// What is to be done with the batches today, as one message: a task, never an alarm. Words only;
// whoever calls it knows the day and what was asked for before.
#pragma once

#include <string>
#include <vector>

#include "cabinet/batch_dates.h"
#include "notification/notification.h"
#include "notification/wording.h"

namespace clutchward {

struct Task {
  std::string batch;
  std::string cabinet;  // as people call it
  BatchDate date;
};

// There is at least one.
Notification write_tasks(const std::vector<Task>& tasks, const Manner& manner);

// "Candle: day 7, 8 Mar 10:00": what comes next, for the daily line.
std::string next_text(const BatchDate& date, const Manner& manner);

}  // namespace clutchward
