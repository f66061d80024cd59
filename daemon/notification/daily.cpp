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

}  // namespace

Notification write_daily(const std::vector<DailyCabinet>& cabinets,
                         const std::vector<std::string>& faults, const Manner& manner) {
  std::size_t active = 0;
  std::size_t latched = 0;
  std::size_t silent = 0;
  Notification note;
  for (const DailyCabinet& cabinet : cabinets) {
    silent += cabinet.no_data ? 1 : 0;
    for (const AlarmView& view : cabinet.alarms) {
      active += view.active ? 1 : 0;
      latched += !view.active && view.latched ? 1 : 0;
    }
    note.message += cabinet_line(cabinet, manner) + "\n";
  }
  for (const std::string& fault : faults)
    note.message += "The watch itself: " + printable(fault) + "\n";
  if (cabinets.empty()) note.message += "No cabinet has been heard of.\n";
  const bool well = active + latched + silent + faults.size() == 0 && !cabinets.empty();
  std::string counts;
  const auto count = [&](std::size_t number, const std::string& what) {
    if (number > 0) counts += (counts.empty() ? ": " : ", ") + std::to_string(number) + " " + what;
  };
  if (well) {
    counts = ": " + std::to_string(cabinets.size()) +
             (cabinets.size() == 1 ? " cabinet watched" : " cabinets watched");
  } else {
    count(active, active == 1 ? "alarm" : "alarms");
    count(silent, "without readings");
    count(latched, "latched");
    count(faults.size(), faults.size() == 1 ? "fault of the watch" : "faults of the watch");
    if (counts.empty()) counts = ": no cabinet heard of";
  }
  note.first_line = fitted({{well ? "ALL IS WELL at " : "TODAY at ", counts},
                            {well ? "ALL IS WELL at " : "TODAY at ", ""}},
                           manner.settings.site);
  note.message +=
      "\nIf this line fails to come one day, the watch may have stopped: go and look.\n";
  note.urgency = Urgency::low;
  note.thread = "daily";
  return note;
}

}  // namespace clutchward
