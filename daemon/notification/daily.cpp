// "ALL IS WELL" is said only where it is: no active alarm, no latch, no silent cabinet, no fault of
// the watch.
#include "notification/daily.h"

#include "base/text.h"

namespace clutchward {
namespace {

std::string temperature_text(Milli value, const Manner& manner) {
  AlarmView degrees;
  return value_text(value, degrees, manner);
}

std::string alarm_word(const AlarmView& view, const Manner& manner) {
  std::string text = std::string(fault_word(view)) + " (" + printable(view.key.alarm) + ")";
  if (view.active && view.snoozed_until) return text + ", " + snoozed_text(view, manner);
  if (view.active)
    return text + (view.acknowledged ? ", " + person(view.acknowledged_by) + " has it"
                                     : ", nobody has it");
  text += ", latched";
  if (view.returned_at) text += ", over since " + clock_text(*view.returned_at, manner);
  return text + ": look, then reset it";
}

std::string cabinet_line(const DailyCabinet& cabinet, const Manner& manner) {
  std::string line = printable(cabinet.name) + ":";
  if (cabinet.no_data) line += " NO READINGS";
  if (cabinet.temperature)
    line += std::string(cabinet.no_data ? ", last " : " ") +
            temperature_text(*cabinet.temperature, manner);
  if (cabinet.humidity) line += ", " + milli_text(*cabinet.humidity, 0) + " %";
  for (const std::string& batch : cabinet.batches) line += "; " + printable(batch);
  for (const AlarmView& view : cabinet.alarms)
    if (view.active || view.latched) line += "; " + alarm_word(view, manner);
  return line;
}

struct Counts {
  std::size_t active = 0;
  std::size_t latched = 0;
  std::size_t silent = 0;
};

Counts counts_of(const std::vector<DailyCabinet>& cabinets) {
  Counts counts;
  for (const DailyCabinet& cabinet : cabinets) {
    counts.silent += cabinet.no_data ? 1 : 0;
    for (const AlarmView& view : cabinet.alarms) {
      counts.active += view.active ? 1 : 0;
      counts.latched += !view.active && view.latched ? 1 : 0;
    }
  }
  return counts;
}

std::string watched(std::size_t cabinets) {
  return std::to_string(cabinets) + (cabinets == 1 ? " cabinet watched" : " cabinets watched");
}

// ": 1 alarm, 2 without readings"; "" where there is nothing to count.
std::string counted(const Counts& counts, std::size_t faults) {
  std::string text;
  const auto count = [&](std::size_t number, const std::string& what) {
    if (number > 0) text += (text.empty() ? ": " : ", ") + std::to_string(number) + " " + what;
  };
  count(counts.active, counts.active == 1 ? "alarm" : "alarms");
  count(counts.silent, "without readings");
  count(counts.latched, "latched");
  count(faults, faults == 1 ? "fault of the watch" : "faults of the watch");
  return text;
}

std::string lines_of(const std::vector<DailyCabinet>& cabinets, const Manner& manner) {
  std::string text;
  for (const DailyCabinet& cabinet : cabinets) text += cabinet_line(cabinet, manner) + "\n";
  return text.empty() ? "No cabinet has been heard of.\n" : text;
}

}  // namespace

Notification write_daily(const std::vector<DailyCabinet>& cabinets,
                         const std::vector<std::string>& faults, const Manner& manner) {
  Notification note;
  std::string faulty;
  for (const std::string& fault : faults) faulty += "The watch itself: " + printable(fault) + "\n";
  note.message =
      cabinets.empty() ? faulty + lines_of(cabinets, manner) : lines_of(cabinets, manner) + faulty;
  std::string counts = counted(counts_of(cabinets), faults.size());
  const bool well = counts.empty() && !cabinets.empty();
  if (counts.empty()) counts = ": " + (well ? watched(cabinets.size()) : "no cabinet heard of");
  note.first_line = fitted({{well ? "ALL IS WELL at " : "TODAY at ", counts},
                            {well ? "ALL IS WELL at " : "TODAY at ", ""}},
                           manner.settings.site);
  note.message +=
      "\nIf this line fails to come one day, the watch may have stopped: go and look.\n";
  note.urgency = Urgency::low;
  note.thread = "daily";
  return note;
}

Notification write_status(const std::vector<DailyCabinet>& cabinets, const Manner& manner) {
  Notification note;
  std::string counts = counted(counts_of(cabinets), 0);
  if (counts.empty())
    counts =
        ": " + (cabinets.empty() ? "no cabinet heard of" : "no alarm, " + watched(cabinets.size()));
  note.first_line = fitted({{"STATUS of ", counts}, {"STATUS of ", ""}}, manner.settings.site);
  note.message = "As it stands at " + clock_text(manner.now, manner, /*zone=*/true) +
                 ", as you asked:\n" + lines_of(cabinets, manner);
  note.urgency = Urgency::quiet;
  note.thread = "answer";
  return note;
}

}  // namespace clutchward
