// Message bodies, line by line. It refuses to leave out a value, a limit or the word that this is
// no safety device.
#include "notification/message.h"

#include <algorithm>
#include <cmath>

#include "base/check.h"
#include "base/text.h"
#include "notification/advice.h"
#include "notification/ladder.h"

namespace clutchward {
namespace {

constexpr std::string_view kFooter =
    "Clutchward is no safety device: keep an independent over-temperature cut-out, and go and "
    "look.";

// A cause that names a thousand cabinets names them all.
constexpr std::size_t kSaidBytes = 32 * 1024;

std::string opening(const Loud& loud) {
  switch (loud.reason) {
    case Reason::raised:
      return "New alarm";
    case Reason::raised_again:
      return "Rings again: still so";
    case Reason::worsened:
      return "Worse than before";
    case Reason::escalated:
      return "Nobody has answered yet";
    case Reason::passed_on:
      return person(loud.by) + " passes this on to you";
    case Reason::unreachable:
      return person(loud.by) + " could not be reached";
    case Reason::reminder:
      return "Reminder " + std::to_string(loud.reminder) + ": nobody has answered yet";
  }
  return "";
}

std::string limit_text(const AlarmView& view, Milli limit, const Manner& manner) {
  return (view.kind == RuleKind::below ? "at least " : "at most ") +
         value_text(limit, view, manner);
}

// As many decimals as it takes to tell the value from its limit.
int exactness(const AlarmView& view, std::optional<Milli> value, std::optional<Milli> limit,
              const Manner& manner) {
  int decimals = 1;
  if (value && limit && *value != *limit)
    while (decimals < 3 &&
           value_text(*value, view, manner, decimals) == value_text(*limit, view, manner, decimals))
      ++decimals;
  return decimals;
}

std::optional<Milli> value_told(const AlarmView& view, const AlarmEvent& event) {
  return view.active && view.value ? view.value : event.value;
}
std::optional<Milli> limit_told(const AlarmView& view, const AlarmEvent& event) {
  return view.limit ? view.limit : event.limit;
}

// "39.8 °C and rising, at most 39.5 °C", or "" for kinds that measure nothing.
std::string measured(const AlarmView& view, const AlarmEvent& event, const Manner& manner) {
  const auto value = value_told(view, event);
  const auto limit = limit_told(view, event);
  if (figures(view, value, limit, manner, false).empty()) return "";
  const int decimals = exactness(view, value, limit, manner);
  std::string text;
  if (value) text = value_text(*value, view, manner, decimals);
  if (value && view.kind == RuleKind::spread) text += " apart";
  if (value && view.active && view.trend == Trend::rising) text += " and rising";
  if (value && view.active && view.trend == Trend::falling) text += " and falling";
  const bool early = view.kind == RuleKind::rate || view.kind == RuleKind::trend;
  if (value && limit && !early) text += ", ";
  if (limit && !early) text += limit_text(view, *limit, manner);
  return text;
}

// How an alarm stands with people: "nobody has it yet", "Mara has it since 02:16".
std::string standing(const AlarmView& view, const Manner& manner) {
  if (!view.active) {
    const std::string when =
        view.returned_at ? " since " + clock_text(*view.returned_at, manner) : "";
    return "over" + when + (view.latched ? ", latched until a person resets it" : "");
  }
  if (view.snoozed_until) return snoozed_text(view, manner);
  if (view.acknowledged)
    return person(view.acknowledged_by) + " has it" +
           (view.acknowledged_at ? " since " + clock_text(*view.acknowledged_at, manner) : "");
  return "nobody has it yet";
}

std::string batch_line(const AlarmView& view) {
  if (view.key.batch.empty()) return "";
  std::string line = "Batch " + printable(view.key.batch);
  if (!view.batch_name.empty()) line += ", " + printable(view.batch_name);
  if (view.day && std::isfinite(*view.day) && std::fabs(*view.day) < 1e6)
    line += ", day " + milli_text(std::llround(*view.day * 1000), 1);
  if (!view.stage.empty()) line += ", stage " + printable(view.stage);
  return line;
}

void add_facts(std::string& text, const Loud& subject, const Manner& manner) {
  const AlarmView& view = subject.view;
  const AlarmEvent& event = subject.events.back();
  const std::string facts = measured(view, event, manner);
  text += std::string(fault_word(view)) + ": " + place(view, manner);
  if (!facts.empty()) text += ", " + facts;
  text += "\n" + opening(subject) + " (" + printable(view.key.alarm) + ", priority " +
          std::string(name_of(view.priority)) + ").\n";
  const std::string batch = batch_line(view);
  if (!batch.empty()) text += batch + "\n";
  if (view.target && view.quantity == Quantity::temperature && !facts.empty() &&
      view.kind != RuleKind::spread)
    text += "Target: " + value_text(*view.target, view, manner) + "\n";
  text += "Since: " + clock_text(since(view, event), manner, true) + "\n";
  if (view.harm && view.harm_at) {
    text += "At this pace: " + value_text(*view.harm, view, manner) + " at " +
            clock_text(*view.harm_at, manner);
    if (view.harm_from && view.harm_until && *view.harm_from != *view.harm_until)
      text += ", likely between " + clock_text(*view.harm_from, manner) + " and " +
              clock_text(*view.harm_until, manner);
    text += "\n";
  }
  if (!view.says.empty()) text += "What is wrong: " + printable(view.says, kSaidBytes) + "\n";
  if (view.part_of == "all_silent")
    text += "It is one of several that fell silent together: look for one cause.\n";
  const auto worst = view.worst ? view.worst : event.worst;
  if (worst && !facts.empty()) {
    // As exact as the value above it, or the two would not seem to fit.
    const auto limit = limit_told(view, event);
    const int decimals = std::max(exactness(view, value_told(view, event), limit, manner),
                                  exactness(view, worst, limit, manner));
    text += "Worst: " + value_text(*worst, view, manner, decimals) + "\n";
  }
  if (view.no_data && !facts.empty()) text += "No fresh reading: this is what was last known.\n";
  text += "Now: " + standing(view, manner) + "\n";
}

void add_list(std::string& text, const std::string& title, const std::vector<std::string>& lines) {
  if (lines.empty()) return;
  text += "\n" + title + "\n";
  for (const std::string& line : lines) text += "- " + line + "\n";
}

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = std::min(text.find('\n', at), text.size());
    if (end > at) lines.push_back(printable(text.substr(at, end - at), 1000));
    at = end + 1;
  }
  return lines;
}

std::string other_line(const AlarmView& view, const AlarmEvent& event, const Manner& manner) {
  const std::string facts = measured(view, event, manner);
  std::string line = std::string(fault_word(view)) + " (" + printable(view.key.alarm);
  if (!view.key.batch.empty()) line += " of " + printable(view.key.batch);
  line += ")";
  if (!facts.empty()) line += ": " + facts;
  return line + ", since " + clock_text(since(view, event), manner) + "; " + standing(view, manner);
}

AlarmEvent event_from(const AlarmView& view) {
  AlarmEvent event;
  event.key = view.key;
  event.at = view.raised_at.value_or(Wall{});
  event.value = view.value;
  event.limit = view.limit;
  return event;
}

// The other active alarms of the subject's cabinet, the worst first, and what this message tells
// that is no longer active.
std::vector<std::string> beside(const Telling& telling, const Manner& manner) {
  const AlarmKey& subject = telling.loud.front().view.key;
  std::vector<AlarmView> views;
  for (const AlarmView& view : telling.cabinet)
    if (view.active && view.key != subject) views.push_back(view);
  std::sort(views.begin(), views.end(), worse);
  std::vector<std::string> lines;
  for (const AlarmView& view : views) lines.push_back(other_line(view, event_from(view), manner));
  for (const Loud& loud : telling.loud)
    if (loud.view.key.cabinet == subject.cabinet && loud.view.key != subject && !loud.view.active)
      lines.push_back(other_line(loud.view, loud.events.back(), manner));
  return lines;
}

// For a stand-in: of each cabinet in the message what its keeper knows by heart.
void add_guides(std::string& text, const Telling& telling, const Manner& manner) {
  if (telling.stands_in.empty()) return;
  text += "\n";
  for (const std::string& line : telling.stands_in) text += line + "\n";
  std::vector<std::string> done;
  for (const Loud& loud : telling.loud) {
    const std::string& cabinet = loud.view.key.cabinet;
    const auto guide = manner.settings.guides.find(cabinet);
    if (guide == manner.settings.guides.end() ||
        std::find(done.begin(), done.end(), cabinet) != done.end())
      continue;
    done.push_back(cabinet);
    const std::string of = " (" + place(loud.view, manner) + "):";
    add_list(text, "First aid" + of, lines_of(guide->second.first_aid));
    add_list(text, "Where things are" + of, lines_of(guide->second.where));
  }
}

void write_loud(Notification& note, const Telling& telling, const Manner& manner) {
  const Loud& subject = telling.loud.front();
  const AlarmView& view = subject.view;
  std::vector<std::string> elsewhere;
  for (const Loud& loud : telling.loud)
    if (loud.view.key.cabinet != view.key.cabinet)
      elsewhere.push_back(place(loud.view, manner) + ": " +
                          other_line(loud.view, loud.events.back(), manner));
  const std::vector<std::string> others = beside(telling, manner);
  note.first_line =
      alarm_line(view, subject.events.back(), others.size() + elsewhere.size(), manner);
  add_facts(note.message, subject, manner);

  const auto cabinet = manner.settings.cabinets.find(view.key.cabinet);
  const MachineType machine =
      cabinet == manner.settings.cabinets.end() ? MachineType::forced : cabinet->second.machine;
  const auto& advice = advice_for(view, machine).lines;
  add_list(note.message, "What to do first:", {advice.begin(), advice.end()});
  add_guides(note.message, telling, manner);
  add_list(note.message, "Also at " + place(view, manner) + ":", others);
  add_list(note.message, "Elsewhere:", elsewhere);
  std::vector<std::string> news;
  for (const Quiet* quiet : telling.quiet) news.push_back(quiet->line);
  add_list(note.message, "Besides:", news);
  add_list(note.message, "Told before:", telling.tried);
  note.message += "\nTold now: " + people(telling.told_now) + "\n\n";
  note.message += std::string(kFooter) + "\n";

  note.urgency = subject.calls() ? urgency_of(view.priority) : Urgency::quiet;
  note.about = view.priority;
  note.subject = view.key;
  note.episode = view.episode;
  if (note.urgency != Urgency::quiet || view.active) return;
  // It was over before anyone was told: the first line must not send a keeper running.
  AlarmEvent over = subject.events.back();
  over.kind = EventKind::returned;
  over.at = view.returned_at.value_or(over.at);
  over.value = view.value;
  note.first_line = write_quiet(over, view, {}, manner).first_line;
}

std::string flood_sentence(const Telling& telling) {
  switch (telling.listing) {
    case Listing::begins:
      return "More than 10 alarms came in 10 minutes. From now on there is one list every 10 "
             "minutes; high ones are told at once. None is left out.";
    case Listing::goes_on:
      return "Still many alarms: the next list follows in 10 minutes, high ones at once.";
    case Listing::over:
      return "Fewer than 5 alarms came in the last 10 minutes: messages come one by one again.";
    case Listing::none:
      break;
  }
  return "";
}

// What came first is the likeliest cause of the rest.
const Loud* first_out(const Telling& telling) {
  const Loud* first = nullptr;
  for (const Loud& loud : telling.loud)
    if (first == nullptr ||
        since(loud.view, loud.events.back()) < since(first->view, first->events.back()))
      first = &loud;
  return first;
}

// A list of a flood: how many there are stands first, and what began it.
void write_flood(Notification& note, const Telling& telling, const Manner& manner) {
  const Loud& worst = telling.loud.front();
  const std::string count = std::to_string(telling.loud.size());
  const std::string from = " since " + clock_text(telling.flood_since, manner);
  const std::string what = plain(std::string(fault_word(worst.view)));
  const std::string where = plain(place(worst.view, manner));
  const std::string before = telling.listing == Listing::over ? "FLOOD OVER " : "ALARM FLOOD ";
  if (telling.loud.size() == 1) {
    note.message = flood_sentence(telling) + "\n\n" + note.message;
    return;
  }
  note.first_line =
      fitted({{before, " " + count + " alarms" + from + ". Worst: " + what + " " + where},
              {before, " " + count + " alarms" + from + ". Worst: " + what},
              {before, " " + count + " alarms" + from}},
             manner.settings.site);
  std::string opening = flood_sentence(telling) + "\n";
  const Loud* first = first_out(telling);
  opening += "The first of these was: " + place(first->view, manner) + ", " +
             other_line(first->view, first->events.back(), manner) + "\n";
  note.message = opening + "The worst of them:\n\n" + note.message;
}

void write_all_quiet(Notification& note, const Telling& telling) {
  const Quiet& first = *telling.quiet.front();
  note.first_line = first.first_line;
  for (const Quiet* quiet : telling.quiet) {
    note.message += quiet->line + "\n";
    note.about = std::max(note.about, quiet->priority);
  }
  note.urgency = Urgency::quiet;
  note.subject = first.event.key;
  note.episode = first.episode;
}

}  // namespace

std::string people(const std::vector<std::string>& contacts) {
  std::string text;
  for (const std::string& contact : contacts) text += (text.empty() ? "" : ", ") + person(contact);
  return text;
}

bool Loud::calls() const { return rings(view) || (!held && view.priority == Priority::high); }

Notification write_flood_over(Wall since, const Manner& manner) {
  Notification note;
  note.first_line = fitted(
      {{"FLOOD OVER ", ", it began at " + clock_text(since, manner) + ". Messages come one by one"},
       {"FLOOD OVER ", ""}},
      manner.settings.site);
  Telling over;
  over.listing = Listing::over;
  note.message = flood_sentence(over) + "\n";
  note.urgency = Urgency::quiet;
  note.thread = "flood";
  return note;
}

Notification write_message(const Telling& telling, const Manner& manner) {
  CHECK(!telling.loud.empty() || !telling.quiet.empty());
  Notification note;
  if (telling.loud.empty())
    write_all_quiet(note, telling);
  else
    write_loud(note, telling, manner);
  note.reason = telling.loud.empty()
                    ? kNewsReason
                    : kReasonNames[static_cast<std::size_t>(telling.loud.front().reason)];
  if (telling.listing != Listing::none && !telling.loud.empty())
    write_flood(note, telling, manner);
  else if (telling.listing != Listing::none)
    note.message = flood_sentence(telling) + "\n\n" + note.message;
  note.thread = !note.episode.empty()
                    ? note.episode
                    : note.subject.cabinet + "/" + note.subject.batch + "/" + note.subject.alarm;
  for (const Loud& loud : telling.loud)
    note.events.insert(note.events.end(), loud.events.begin(), loud.events.end());
  for (const Quiet* quiet : telling.quiet) note.events.push_back(quiet->event);
  return note;
}

}  // namespace clutchward
