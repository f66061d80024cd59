// A reply is answered in the order in which it is read on a locked phone: done or not, then how it
// stands.
#include "notification/mail_answer.h"

#include "base/text.h"

namespace clutchward {
namespace {

// "Setter A: TOO HOT (high of hens-12) 39.8 C (max 39.5), Mara has it since 02:14; tells again at
// 02:44"
std::string line_of(const AlarmView& view, const Manner& manner) {
  std::string line = place(view, manner) + ": " + std::string(fault_word(view)) + " (" +
                     view.key.alarm + (view.key.batch.empty() ? "" : " of " + view.key.batch) +
                     ")" + figures(view, view.value, view.limit, manner, /*trend=*/true);
  const auto clock = [&](const std::optional<Wall>& at) {
    return at ? clock_text(*at, manner) : std::string("later");
  };
  if (view.state == AlarmState::out_of_service) return line + ", out of service";
  if (!view.active) {
    line += view.returned_at ? ", over since " + clock(view.returned_at) : ", over";
    return line + (view.latched ? "; it stays until somebody has looked: reset" : "");
  }
  if (view.snoozed_until) return line + ", " + snoozed_text(view, manner);
  if (!view.acknowledged) return line + ", and nobody has it";
  line += ", " + person(view.acknowledged_by) + " has it";
  if (view.acknowledged_at) line += " since " + clock(view.acknowledged_at);
  return line + (view.rings_again_at
                     ? "; tells again at " + clock(view.rings_again_at) + " if it is still so"
                     : "");
}

void add_cabinet(const DailyCabinet& cabinet, const Manner& manner, std::string& text) {
  bool any = false;
  for (const AlarmView& view : cabinet.alarms) {
    if (view.state == AlarmState::normal || view.state == AlarmState::pending ||
        view.state == AlarmState::suppressed)
      continue;
    text += line_of(view, manner) + "\n";
    any = true;
  }
  if (any) return;
  text += printable(cabinet.name) + ": ";
  if (cabinet.no_data) text += "no readings, ";
  if (!cabinet.no_data && cabinet.temperature)
    text += value_text(*cabinet.temperature, AlarmView{}, manner) + ", ";
  text += "no alarm\n";
}

}  // namespace

Notification write_mail_answer(const MailAnswer& answer, const std::string& contact,
                               const Manner& manner) {
  Notification note;
  const std::string where = answer.cabinets.size() == 1 ? answer.cabinets[0].name : "";
  const std::string what = answer.done ? "DONE: " + answer.first : "NOT DONE";
  note.first_line = first_line_of(what + (where.empty() ? "" : " " + where) + ", by mail from " +
                                  person(contact));
  if (!answer.sentence.empty()) note.message += answer.sentence + "\n\n";
  note.message += "Now, at " + clock_text(manner.now, manner, /*zone=*/true) + ":\n";
  for (const DailyCabinet& cabinet : answer.cabinets) add_cabinet(cabinet, manner, note.message);
  if (answer.cabinets.empty()) note.message += "Nothing is known of what that message told.\n";
  note.message += "\nThis mail cannot be answered; the alarm's own mails can, each for a day.\n";
  note.urgency = Urgency::quiet;
  note.thread = "answer";
  note.answers = answer.to;
  return note;
}

}  // namespace clutchward
