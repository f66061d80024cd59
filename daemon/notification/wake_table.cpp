// The table of a plain week: hours as clocks show them, days without a change of the clocks.
#include "notification/wake_table.h"

#include <algorithm>
#include <chrono>
#include <map>
#include <set>

#include "notification/episode.h"
#include "notification/wording.h"

namespace clutchward {
namespace {

constexpr int kDay = 24 * 60;
constexpr int kWeek = 7 * kDay;
constexpr std::array<Priority, 3> kPriorities = {Priority::high, Priority::medium, Priority::low};
constexpr std::array<const char*, 7> kDays = {"mon", "tue", "wed", "thu", "fri", "sat", "sun"};

int minutes(Span span) {
  return static_cast<int>(std::chrono::duration_cast<std::chrono::minutes>(span).count());
}

// Minutes of the week, [from, to), `to` perhaps past its end.
std::vector<std::pair<int, int>> stretches(const std::vector<DayHours>& hours) {
  std::vector<std::pair<int, int>> all;
  for (const DayHours& each : hours)
    for (int day = 0; day < 7; ++day) {
      if ((each.days >> day & 1) == 0) continue;
      const int from = day * kDay + minutes(each.from);
      const int to = day * kDay + minutes(each.to) + (each.to <= each.from ? kDay : 0);
      all.emplace_back(from, to);
    }
  return all;
}

bool within(const std::vector<std::pair<int, int>>& all, int minute) {
  return std::any_of(all.begin(), all.end(), [&](const auto& each) {
    return (each.first <= minute && minute < each.second) ||
           (each.first <= minute + kWeek && minute + kWeek < each.second);
  });
}

std::string channels(const std::vector<ChannelSettings>& all, Priority priority) {
  std::string text;
  std::set<std::string_view> named;
  for (const ChannelSettings& channel : all)
    if (channel.least <= priority && named.insert(channel.kind()).second)
      text += (text.empty() ? "" : ", ") + std::string(channel.kind());
  return text.empty() ? "never" : text;
}

using Cells = std::array<std::string, 3>;

Cells cells_at(const std::vector<ChannelSettings>& all, const ContactTimes& times, bool off,
               bool quiet) {
  Cells cells;
  for (std::size_t i = 0; i < kPriorities.size(); ++i) {
    const Priority priority = kPriorities[i];
    const bool high = priority == Priority::high;
    cells[i] = priority < times.least ? "never" : channels(all, priority);
    if (cells[i] == "never") continue;
    if (off)
      cells[i] = high ? "if nobody else" : "waits";
    else if (quiet && !high)
      cells[i] = "waits";
  }
  return cells;
}

struct Segment {
  int from;  // minutes of the day
  int to;
  Cells cells;
  bool operator==(const Segment&) const = default;
};

std::string clock(int minute) {
  const auto two = [](int number) {
    return std::string(number < 10 ? "0" : "") + std::to_string(number);
  };
  return two(minute / 60) + ":" + two(minute % 60);
}

// "mon-fri", "sat,sun", "every day"
std::string day_names(const std::vector<int>& days) {
  if (days.size() == 7) return "every day";
  std::string text;
  for (std::size_t i = 0; i < days.size();) {
    std::size_t end = i;
    while (end + 1 < days.size() && days[end + 1] == days[end] + 1) ++end;
    text += (text.empty() ? "" : ",") + std::string(kDays[static_cast<std::size_t>(days[i])]);
    if (end > i)
      text += (end > i + 1 ? "-" : ",") + std::string(kDays[static_cast<std::size_t>(days[end])]);
    i = end + 1;
  }
  return text;
}

std::vector<WakeRow> rows_of(const std::vector<ChannelSettings>& all, const ContactTimes& times) {
  const auto hours = stretches(times.hours);
  const auto quiet = stretches(times.quiet);
  std::vector<std::vector<Segment>> days(7);
  for (int day = 0; day < 7; ++day) {
    std::set<int> breaks = {0};
    for (const auto* each : {&hours, &quiet})
      for (const auto& [from, to] : *each)
        for (const int minute : {from % kWeek, to % kWeek})
          if (minute / kDay == day) breaks.insert(minute % kDay);
    for (auto at = breaks.begin(); at != breaks.end(); ++at) {
      const int to = std::next(at) == breaks.end() ? kDay : *std::next(at);
      const int minute = day * kDay + *at;
      const bool off = !hours.empty() && !within(hours, minute);
      Segment segment{*at, to, cells_at(all, times, off, within(quiet, minute))};
      auto& list = days[static_cast<std::size_t>(day)];
      if (!list.empty() && list.back().cells == segment.cells)
        list.back().to = to;
      else
        list.push_back(std::move(segment));
    }
  }
  std::vector<WakeRow> rows;
  std::vector<bool> done(7, false);
  for (std::size_t day = 0; day < 7; ++day) {
    if (done[day]) continue;
    std::vector<int> same;
    for (std::size_t other = day; other < 7; ++other)
      if (days[other] == days[day]) {
        same.push_back(static_cast<int>(other));
        done[other] = true;
      }
    for (const Segment& segment : days[day]) {
      const bool whole = segment.from == 0 && segment.to == kDay;
      rows.push_back({whole && same.size() == 7
                          ? "always"
                          : day_names(same) + " " + clock(segment.from) + "-" + clock(segment.to),
                      segment.cells});
    }
  }
  return rows;
}

// "1 h 30 min"
std::string span_text(Span span) {
  std::string text;
  for (const char c : to_text(span)) {
    const bool letter = c >= 'a' && c <= 'z';
    const bool before = !text.empty() && text.back() >= 'a' && text.back() <= 'z';
    if (!text.empty() && letter != before) text += ' ';
    text += c;
  }
  return text;
}

std::string told_text(const Settings& settings, const std::string& contact) {
  std::string text;
  for (const EscalationStep& step : steps_of(settings)) {
    const std::string when = step.after == Span{0} ? "at once" : "after " + span_text(step.after);
    std::vector<std::string> ways;
    for (const std::string& id : step.notify) {
      if (id == contact && step.everyone) ways.push_back("with everyone " + when);
      if (id == contact && !step.everyone) ways.push_back(when);
      const auto rota = settings.rotas.find(id);
      if (rota == settings.rotas.end()) continue;
      std::vector<int> days;
      for (int day = 0; day < 7; ++day) {
        const auto& duty = rota->second.days[static_cast<std::size_t>(day)];
        if (std::find(duty.begin(), duty.end(), contact) != duty.end()) days.push_back(day);
      }
      if (days.empty()) continue;
      const int begins = minutes(rota->second.begins);
      ways.push_back(when + " on duty (" + id + ": " + day_names(days) +
                     (begins == 0 ? "" : " from " + clock(begins)) + ")");
    }
    for (const std::string& way : ways) text += (text.empty() ? "" : "; ") + way;
  }
  return text.empty() ? "by no step" : text;
}

std::string date_text(std::chrono::local_days day) {
  return day_text(day) + " " +
         std::to_string(static_cast<int>(std::chrono::year_month_day{day}.year()));
}

}  // namespace

std::vector<WakePerson> wake_table(const Settings& settings) {
  std::vector<WakePerson> table;
  for (const auto& [contact, all] : settings.contacts) {
    const auto found = settings.contact_times.find(contact);
    const ContactTimes times =
        found == settings.contact_times.end() ? ContactTimes{} : found->second;
    WakePerson one{contact, told_text(settings, contact), rows_of(all, times), {}};
    for (const AwaySettings& away : times.away)
      one.notes.push_back("away " + date_text(away.from) + " to " + date_text(away.until) + ", " +
                          (away.instead.empty() ? "nobody" : person(away.instead)) + " instead");
    for (const auto& [other, theirs] : settings.contact_times)
      for (const AwaySettings& away : theirs.away)
        if (away.instead == contact)
          one.notes.push_back("stands in for " + person(other) + " " + date_text(away.from) +
                              " to " + date_text(away.until));
    table.push_back(std::move(one));
  }
  return table;
}

std::string wake_text(const Settings& settings) {
  const auto table = wake_table(settings);
  if (table.empty()) return "Nobody is told anything: there are no contacts.\n";
  std::array<std::size_t, 4> widths = {4, 4, 6, 3};
  for (const WakePerson& one : table)
    for (const WakeRow& row : one.rows) {
      widths[0] = std::max(widths[0], row.when.size());
      for (std::size_t i = 0; i < 3; ++i)
        widths[i + 1] = std::max(widths[i + 1], row.rings[i].size());
    }
  const auto line = [&](const std::array<std::string, 4>& cells) {
    std::string text = " ";
    for (std::size_t i = 0; i < cells.size(); ++i)
      text += " " + cells[i] + std::string(widths[i] - cells[i].size() + 1, ' ');
    text.erase(text.find_last_not_of(' ') + 1);
    return text + "\n";
  };
  std::string text = "What wakes whom, by the clocks of " + settings.timezone + ":\n";
  for (const WakePerson& one : table) {
    text += "\n" + person(one.contact) + ", told " + one.told + "\n";
    text += line({"", "high", "medium", "low"});
    for (const WakeRow& row : one.rows)
      text += line({row.when, row.rings[0], row.rings[1], row.rings[2]});
    for (const std::string& note : one.notes) text += "  " + note + "\n";
  }
  return text +
         "\n  waits: told when that time ends, if it is still so and nobody has it.\n"
         "  if nobody else: outside the hours; a high alarm always reaches somebody.\n";
}

}  // namespace clutchward
