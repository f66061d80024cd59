// The first line names the first task and counts the others; the list leaves none out.
#include "notification/tasks.h"

#include "base/check.h"
#include "base/text.h"

namespace clutchward {
namespace {

std::string when_text(const BatchDate& date, const Manner& manner) {
  std::string text = clock_text(date.from, manner);
  if (date.to != date.from) text += " to " + clock_text(date.to, manner);
  return text;
}

// How its answer reaches the record; "" where there is nothing to answer.
std::string answer_text(const Task& task) {
  switch (task.date.kind) {
    case TaskKind::candle:
      return "when done: clutchward batch candle " + task.batch;
    case TaskKind::weigh:
      return "when done: clutchward batch weigh " + task.batch;
    case TaskKind::transfer:
      return "when done: clutchward batch move " + task.batch;
    case TaskKind::end_batch:
      return "still running? Otherwise: clutchward batch end " + task.batch;
    default:
      return "";
  }
}

}  // namespace

Notification write_tasks(const std::vector<Task>& tasks, const Manner& manner) {
  CHECK(!tasks.empty());
  Notification note;
  const Task& first = tasks.front();
  const std::string more =
      tasks.size() > 1 ? " +" + std::to_string(tasks.size() - 1) + " more" : std::string();
  const std::string what = plain(first.date.what);
  const std::string batch = plain(first.batch);
  note.first_line = fitted({{"TO DO ", " " + batch + ": " + what + more},
                            {"TO DO ", ": " + what + more},
                            {"TO DO ", more}},
                           first.cabinet);
  for (const Task& task : tasks) {
    note.message += "- " + printable(task.cabinet) + ", " + printable(task.batch) + ": " +
                    printable(task.date.what) + ", " + when_text(task.date, manner);
    const std::string answer = answer_text(task);
    if (!answer.empty()) note.message += " (" + printable(answer) + ")";
    note.message += "\n";
  }
  note.message += "\nThese are tasks, not alarms. What is done already is not asked for.\n";
  note.urgency = Urgency::low;
  note.thread = "tasks";
  return note;
}

std::string next_text(const BatchDate& date, const Manner& manner) {
  return printable(date.what) + ", " + when_text(date, manner);
}

}  // namespace clutchward
