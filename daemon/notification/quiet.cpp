// Short words for those who were told of an alarm: it is over, somebody has it, somebody put it
// off. It refuses to claim more than the event says.
#include "base/text.h"
#include "notification/message.h"

namespace clutchward {
namespace {

// What the alarm was, behind the name: figures where it measures, then since when.
std::string was(const AlarmView& view, const AlarmEvent& event, const Manner& manner) {
  const auto limit = event.limit ? event.limit : view.limit;
  return figures(view, event.value, limit, manner, false);
}

// `deed` before the alarm, `end` behind it: "Mara has it since 02:16: TOO HOT Setter A 39.8 C".
void write(Quiet& quiet, const std::vector<std::string>& deeds, const AlarmView& view,
           const std::string& facts, const Manner& manner) {
  const std::string word = ": " + std::string(fault_word(view)) + " ";
  std::vector<Wording> wordings;
  for (const std::string& deed : deeds) {
    wordings.push_back({plain(deed) + word, facts});
    wordings.push_back({plain(deed) + word, ""});
  }
  quiet.first_line = fitted(wordings, place(view, manner));
  quiet.line = deeds.front() + word + place(view, manner) + facts;
}

constexpr const char* kLatched = ". It stays latched until a person has looked and resets it";

void write_returned(Quiet& quiet, const AlarmView& view, const Manner& manner) {
  const AlarmEvent& event = quiet.event;
  const std::string good = std::string(good_word(view)) + " ";
  const std::string at = was(view, event, manner) + " since " + clock_text(event.at, manner);
  const std::string fault = ". Was " + std::string(fault_word(view));
  quiet.first_line = fitted({{good, at + fault}, {good, at}}, place(view, manner));
  quiet.line = good + place(view, manner) + at + fault;
  if (view.latched) quiet.line += kLatched;
}

// Cooler than too hot may be too hot still, or too cold by now.
void write_not_over(Quiet& quiet, const AlarmView& view, const AlarmView& stands,
                    const Manner& manner) {
  const std::string_view word = fault_word(stands);
  const std::string now = (word == fault_word(view) ? "STILL " : "NOW ") + std::string(word) + " ";
  const std::string at = figures(stands, stands.value, stands.limit, manner, false);
  const std::string over = ". " + std::string(fault_word(view)) + " (" + printable(view.key.alarm) +
                           ") over since " + clock_text(quiet.event.at, manner);
  quiet.first_line = fitted({{now, at + over}, {now, at}}, place(view, manner));
  quiet.line = now + place(view, manner) + at + over;
  if (view.latched) quiet.line += kLatched;
}

void write_passed_on(Quiet& quiet, const AlarmView& view, const std::vector<std::string>& next,
                     const std::string& facts, const Manner& manner) {
  const std::string who = person(quiet.event.by);
  const std::string at = " at " + clock_text(quiet.event.at, manner);
  const std::string told =
      next.empty() ? ", nobody is left to tell" : ", now told: " + people(next);
  write(quiet, {who + " passed it on" + at + told, who + " passed it on" + at}, view, facts,
        manner);
}

}  // namespace

Quiet write_quiet(const AlarmEvent& event, const AlarmView& view,
                  const std::vector<std::string>& next, const Manner& manner,
                  const AlarmView* stands) {
  Quiet quiet;
  quiet.event = event;
  quiet.episode = view.episode;
  quiet.priority = view.priority;
  const std::string who = person(event.by);
  const std::string at = clock_text(event.at, manner);
  const std::string facts = was(view, event, manner);
  switch (event.kind) {
    case EventKind::returned:
      if (stands != nullptr)
        write_not_over(quiet, view, *stands, manner);
      else
        write_returned(quiet, view, manner);
      break;
    case EventKind::acknowledged: {
      const std::string has = who + " has it since " + at;
      const std::string again =
          view.rings_again_at ? ", rings again at " + clock_text(*view.rings_again_at, manner) : "";
      write(quiet, {has + again, has}, view, facts, manner);
      break;
    }
    case EventKind::snoozed: {
      const std::string until =
          view.snoozed_until ? " until " + clock_text(*view.snoozed_until, manner) : " at " + at;
      write(quiet, {who + " snoozed it" + until}, view, facts, manner);
      break;
    }
    case EventKind::passed_on:
      write_passed_on(quiet, view, next, facts, manner);
      break;
    case EventKind::out_of_service: {
      const std::string until = view.out_of_service_until
                                    ? " until " + clock_text(*view.out_of_service_until, manner)
                                    : " at " + at;
      write(quiet, {who + " took it out of service" + until}, view, facts, manner);
      if (!view.out_of_service_why.empty())
        quiet.line += ". Reason: " + printable(view.out_of_service_why);
      break;
    }
    default:
      write(quiet, {who + " reset it at " + at}, view, "", manner);
      break;
  }
  return quiet;
}

}  // namespace clutchward
