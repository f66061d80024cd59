// Lines for a terminal.
#include "screen.h"

#include <unistd.h>

#include <algorithm>
#include <cctype>
#include <cstdlib>
#include <cstring>
#include <map>

#include "base/utf8.h"
#include "web/page_words.h"
#include "web/standing.h"

namespace clutchward {
namespace {

// Names and figures wider than this push their own line out, not the whole table.
constexpr std::size_t kWidestColumn = 28;

std::string padded(const std::string& text, std::size_t width) {
  const std::size_t has = width_of(text);
  return has < width ? text + std::string(width - has, ' ') : text;
}

const char* paint_of(Standing standing) {
  switch (standing) {
    case Standing::needs_you:
      return "\033[1;31m";
    case Standing::in_hand:
      return "\033[33m";
    case Standing::look:
    case Standing::no_data:
    case Standing::pending:
    case Standing::unwatched:
      return "\033[35m";
    case Standing::fine:
    case Standing::empty:
      break;
  }
  return "\033[32m";
}

// Short, and in capitals only where something is to be done.
const char* mark_of(Standing standing) {
  switch (standing) {
    case Standing::needs_you:
      return "NEEDS YOU";
    case Standing::in_hand:
      return "in hand";
    case Standing::look:
      return "have a look";
    case Standing::no_data:
      return "no readings";
    case Standing::pending:
      return "just out";
    case Standing::unwatched:
      return "partly watched";
    case Standing::empty:
      return "no eggs set";
    case Standing::fine:
      break;
  }
  return "in range";
}

std::string painted(const std::string& text, const char* paint, Colour colour) {
  return colour == Colour::on ? paint + text + "\033[0m" : text;
}

std::string join(const std::vector<std::string>& parts, const char* between) {
  std::string text;
  for (const std::string& part : parts)
    if (!part.empty()) text += (text.empty() ? "" : between) + part;
  return text;
}

struct Row {
  Standing standing;
  std::string name;
  std::string value;
  std::string about;
  std::vector<std::string> below;
};

// Who has it and until when stands first: a narrow screen cuts what comes last.
std::vector<std::string> alarm_texts(const AlarmView& alarm, const PageWords& words) {
  return {tame(words.fault(alarm) + " " + words.figures(alarm)),
          tame(join({words.who(alarm), words.since(alarm)}, ". "))};
}

std::string alarm_of(const AlarmView& alarm) {
  return alarm.key.alarm + (alarm.key.batch.empty() ? "" : " of " + alarm.key.batch);
}

const char* reason_word(const std::string& reason) {
  if (reason == "warming_up") return "warming up";
  if (reason == "cooling") return "being cooled";
  if (reason == "attending") return "somebody is there";
  return reason == "broker_lost" ? "it waits for news" : "held back";
}

// Rules that are not watched now, by why; and those that have just gone out of range. One line.
std::string folded_line(const std::vector<const AlarmView*>& quiet) {
  std::map<std::string, std::vector<std::string>> by_reason;
  std::vector<std::string> pending;
  for (const AlarmView* alarm : quiet) {
    if (alarm->state == AlarmState::pending) {
      pending.push_back(alarm_of(*alarm));
      continue;
    }
    std::string why;
    for (const std::string& reason : alarm->suppressed_for)
      why += (why.empty() ? "" : " and ") + std::string(reason_word(reason));
    by_reason[why].push_back(alarm_of(*alarm));
  }
  std::vector<std::string> parts;
  if (!pending.empty()) parts.push_back("just out of range: " + join(pending, ", "));
  for (const auto& [why, alarms] : by_reason)
    parts.push_back((why.empty() ? "not watched: " : "not watched (" + why + "): ") +
                    join(alarms, ", "));
  std::string line = join(parts, "; ");
  if (!line.empty()) line[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(line[0])));
  return tame(line);
}

Row row_of(const CabinetView& cabinet, const PageWords& words) {
  Row row{standing_of(cabinet), tame(cabinet.id), "", "", {}};
  row.value = join({words.value(cabinet), cabinet.no_data ? "" : words.trend(cabinet.trend)}, " ");
  if (!cabinet.batches.empty()) {
    const BatchView& batch = cabinet.batches.front();
    row.about = tame(batch.id + ": " + words.batch(batch));
    if (cabinet.batches.size() > 1)
      row.about += " (and " + std::to_string(cabinet.batches.size() - 1) + " more)";
  }
  std::vector<const AlarmView*> quiet;
  for (const AlarmView* alarm : alarms_worst_first(cabinet)) {
    if (alarm->state == AlarmState::suppressed || alarm->state == AlarmState::pending) {
      quiet.push_back(alarm);
      continue;
    }
    for (const std::string& line : alarm_texts(*alarm, words)) row.below.push_back(line);
  }
  if (!quiet.empty()) row.below.push_back(folded_line(quiet));
  for (const std::string& note : words.notes(cabinet)) row.below.push_back(tame(note));
  if (cabinet.no_data) row.below.push_back(words.age(cabinet));
  return row;
}

std::string watch_lines(const WatchView& watch, Colour colour) {
  const PageWords words(watch);
  std::string text = "The watch\n";
  for (const std::string& doubt : words.doubts())
    text += "  " + painted(tame(doubt), paint_of(Standing::needs_you), colour) + "\n";
  for (const AlarmView& alarm : watch.alarms)
    for (const std::string& line : alarm_texts(alarm, words)) text += "  " + line + "\n";
  std::size_t widest = 0;
  const auto facts = words.facts();
  for (const auto& [what, said] : facts) widest = std::max(widest, width_of(tame(what)));
  for (const auto& [what, said] : facts)
    text += "  " + padded(tame(what), widest) + "  " + tame(said) + "\n";
  return text;
}

}  // namespace

Colour colour_for(int descriptor) {
  const char* none = std::getenv("NO_COLOR");
  const char* terminal = std::getenv("TERM");
  const bool refused = (none != nullptr && *none != '\0') || terminal == nullptr ||
                       std::strcmp(terminal, "dumb") == 0;
  return !refused && ::isatty(descriptor) == 1 ? Colour::on : Colour::off;
}

std::string tame(const std::string& text) {
  std::string out;
  std::string_view rest = text;
  while (!rest.empty()) {
    const utf8::Character next = utf8::first(rest);
    const std::size_t bytes = std::max<std::size_t>(next.bytes, 1);
    const bool odd = next.bytes == 0 || next.code < 0x20 || (next.code >= 0x7f && next.code < 0xa0);
    odd ? out.append("?") : out.append(rest.substr(0, bytes));
    rest.remove_prefix(bytes);
  }
  return out;
}

std::size_t width_of(const std::string& text) {
  return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), [](char c) {
    return (static_cast<unsigned char>(c) & 0xc0U) != 0x80;
  }));
}

std::string status_screen(const WatchView& watch, const std::vector<CabinetView>& cabinets,
                          Colour colour) {
  const PageWords words(watch);
  std::vector<Row> rows;
  std::size_t name = 0;
  std::size_t value = 0;
  std::size_t mark = 0;
  for (const CabinetView* cabinet : worst_first(cabinets)) {
    rows.push_back(row_of(*cabinet, words));
    name = std::max(name, std::min(width_of(rows.back().name), kWidestColumn));
    value = std::max(value, std::min(width_of(rows.back().value), kWidestColumn));
    mark = std::max(mark, std::strlen(mark_of(rows.back().standing)));
  }
  std::string text = headline(cabinets, watch.alarms) + "\n" + tame(watch.site) + ", " +
                     words.clock_and_zone(watch.now) + "\n\n";
  for (const Row& row : rows) {
    const std::string first = padded(mark_of(row.standing), mark);
    std::string line =
        painted(first, paint_of(row.standing), colour) + "  " + padded(row.name, name) + "  " +
        (row.about.empty() ? row.value : padded(row.value, value) + "  " + row.about);
    text += line + "\n";
    for (const std::string& below : row.below) text += std::string(mark + 2, ' ') + below + "\n";
  }
  if (!rows.empty()) text += "\n";
  return text + watch_lines(watch, colour);
}

std::string cabinet_lines(const WatchView& watch, const CabinetView& cabinet) {
  const PageWords words(watch);
  const std::string name = cabinet.name.empty() ? cabinet.id : cabinet.name;
  std::string text =
      tame(name) + ": " +
      join({words.value(cabinet), cabinet.no_data ? "" : words.trend(cabinet.trend)}, " ");
  std::vector<std::string> says;
  std::vector<const AlarmView*> quiet;
  for (const AlarmView* alarm : alarms_worst_first(cabinet)) {
    if (alarm->state == AlarmState::suppressed || alarm->state == AlarmState::pending) {
      quiet.push_back(alarm);
      continue;
    }
    const std::string who = who_has_it(*alarm, [&](Wall at) { return words.clock(at); });
    says.push_back(alarm_of(*alarm) + " " + std::string(name_of(alarm->state)) +
                   (who.empty() ? "" : ", " + who));
  }
  if (!quiet.empty()) says.push_back(folded_line(quiet));
  for (const std::string& note : words.notes(cabinet)) says.push_back(note);
  if (alarms_worst_first(cabinet).empty()) text += ", no alarm";
  return says.empty() ? text + "\n" : text + "\n" + tame(join(says, "; ")) + "\n";
}

}  // namespace clutchward
