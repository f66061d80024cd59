// First lines and their parts. It refuses to cut a value, a limit or a time: the name goes shorter,
// then the advice.
#include "notification/wording.h"

#include <algorithm>
#include <array>

#include "base/text.h"
#include "notification/advice.h"

namespace clutchward {
namespace {

// A name cut below this is hard to tell from its neighbours (our own choice).
constexpr std::size_t kNameRest = 12;
// People's names in first lines (our own choice).
constexpr std::size_t kPersonBytes = 40;

bool is_temperature(const AlarmView& view) {
  return view.kind == RuleKind::spread || view.quantity != Quantity::humidity;
}

bool measures(RuleKind kind) {
  return kind == RuleKind::above || kind == RuleKind::below || kind == RuleKind::spread ||
         kind == RuleKind::rate || kind == RuleKind::trend;
}

// The number as it is shown, rounded once, half away from zero. Fahrenheit is 9/5 of Celsius, plus
// 32 unless it is a difference.
std::string shown(Milli value, const AlarmView& view, const Manner& manner, int decimals) {
  if (!is_temperature(view) || manner.settings.show == Show::celsius)
    return milli_text(value, decimals);
  constexpr std::int64_t kParts = 5'000;  // a degree, so that 9/5 of a thousandth is whole
  std::int64_t scaled = std::int64_t{value} * 9;
  if (view.kind != RuleKind::spread) scaled += 32 * kParts;
  std::int64_t step = 1;
  for (int i = decimals; i < 3; ++i) step *= 10;
  const std::int64_t unit = step * (kParts / 1'000);
  const std::int64_t half = scaled < 0 ? -unit / 2 : unit / 2;
  return milli_text((scaled + half) / unit * step, decimals);
}

std::string_view trend_word(Trend trend) {
  switch (trend) {
    case Trend::rising:
      return " rising";
    case Trend::falling:
      return " falling";
    case Trend::steady:
      return " steady";
    case Trend::unknown:
      break;
  }
  return "";
}

std::string shortened(std::string_view name, std::size_t room) {
  if (name.size() <= room) return std::string(name);
  // Both ends: machines are told apart by a number at the end as often as by a first word.
  if (room < 6) return std::string(name.substr(0, room));
  const std::size_t tail = (room - 2) / 2;
  const std::size_t head = room - 2 - tail;
  return std::string(name.substr(0, head)) + ".." + std::string(name.substr(name.size() - tail));
}

std::string two_digits(unsigned value) { return (value < 10 ? "0" : "") + std::to_string(value); }

std::string_view signal_word_of(const AlarmView& view) {
  if (view.signal == "door") return "DOOR OPEN";
  if (view.signal == "fan") return "FAN STOPPED";
  if (view.signal == "water") return "WATER EMPTY";
  return "SIGNAL";
}

// "at this pace 39.5 C at 14:20": what an early warning is about.
std::string pace(const AlarmView& view, const Manner& manner) {
  if (!view.harm || !view.harm_at) return "";
  return " at this pace " + value_text(*view.harm, view, manner, 1, true) + " at " +
         clock_text(*view.harm_at, manner);
}

}  // namespace

std::string_view fault_word(const AlarmView& view) {
  const bool temperature = view.quantity == Quantity::temperature || view.quantity == Quantity::egg;
  switch (view.kind) {
    case RuleKind::above:
      if (view.quantity == Quantity::egg) return "EGGS TOO HOT";
      return temperature ? "TOO HOT" : "TOO DAMP";
    case RuleKind::below:
      if (view.quantity == Quantity::egg) return "EGGS TOO COLD";
      return temperature ? "TOO COLD" : "TOO DRY";
    case RuleKind::silent:
      return "NO READINGS";
    case RuleKind::turning:
      return "NOT TURNING";
    case RuleKind::still:
      return "TURNING NOT DUE";
    case RuleKind::spread:
      return "PROBES DISAGREE";
    case RuleKind::broker:
      return "NO BROKER";
    case RuleKind::power:
      return "MAINS LOST";
    case RuleKind::cooling:
      return "AIRING WENT WRONG";
    case RuleKind::lid:
      return "LID STILL OPEN?";
    case RuleKind::rate:
      return view.downwards ? "COOLING DOWN" : "HEATING UP";
    case RuleKind::trend:
      return view.downwards ? "DRIFTING COLDER" : "DRIFTING WARMER";
    case RuleKind::signal:
      return signal_word_of(view);
    case RuleKind::probe:
      return "PROBE FAULT";
    case RuleKind::all_silent:
      return "ALL SILENT";
  }
  return "ALARM";
}

std::string_view good_word(const AlarmView& view) {
  switch (view.kind) {
    case RuleKind::above:
    case RuleKind::below:
      return "BACK IN RANGE";
    case RuleKind::silent:
      return "READINGS BACK";
    case RuleKind::turning:
      return "TURNING AGAIN";
    case RuleKind::still:
      return "LYING STILL";
    case RuleKind::spread:
      return "PROBES AGREE";
    case RuleKind::broker:
      return "BROKER BACK";
    case RuleKind::power:
      return "MAINS BACK";
    case RuleKind::cooling:
      return "AIRING DONE";
    case RuleKind::lid:
      return "WARMING UP AGAIN";
    case RuleKind::rate:
    case RuleKind::trend:
      return "STEADY AGAIN";
    case RuleKind::signal:
      return "BACK TO NORMAL";
    case RuleKind::probe:
      return "PROBES WELL";
    case RuleKind::all_silent:
      return "READINGS BACK";
  }
  return "OVER";
}

std::string place(const AlarmView& view, const Manner& manner) {
  if (!view.cabinet_name.empty()) return printable(view.cabinet_name);
  if (view.key.cabinet.empty()) {
    return manner.settings.site.empty() ? "the site" : printable(manner.settings.site);
  }
  const auto cabinet = manner.settings.cabinets.find(view.key.cabinet);
  if (cabinet != manner.settings.cabinets.end() && !cabinet->second.name.empty())
    return printable(cabinet->second.name);
  return printable(view.key.cabinet);
}

std::string snoozed_text(const AlarmView& view, const Manner& manner) {
  return "snoozed" + (view.snoozed_by.empty() ? "" : " by " + person(view.snoozed_by)) +
         (view.snoozed_until ? " until " + clock_text(*view.snoozed_until, manner) : "");
}

std::string person(const std::optional<std::string>& by) {
  if (!by || by->empty()) return "Somebody";
  std::string name = printable(*by, kPersonBytes);
  if (name[0] >= 'a' && name[0] <= 'z') name[0] = static_cast<char>(name[0] - 'a' + 'A');
  return name;
}

std::string day_text(std::chrono::local_days day) {
  static constexpr std::array<std::string_view, 12> kMonths = {
      "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
  const std::chrono::year_month_day date{day};
  return std::to_string(static_cast<unsigned>(date.day())) + " " +
         std::string(kMonths[static_cast<unsigned>(date.month()) - 1]);
}

std::string clock_text(Wall time, const Manner& manner, bool zone) {
  const auto local = manner.zone.to_local(time);
  const auto day = std::chrono::floor<std::chrono::days>(local);
  std::string text;
  if (day != std::chrono::floor<std::chrono::days>(manner.zone.to_local(manner.now)))
    text += day_text(day) + " ";
  const auto minutes = std::chrono::floor<std::chrono::minutes>(local - day).count();
  text += two_digits(static_cast<unsigned>(minutes / 60)) + ":";
  text += two_digits(static_cast<unsigned>(minutes % 60));
  if (zone) text += " " + manner.zone.abbreviation_at(time);
  return text;
}

std::string value_text(Milli value, const AlarmView& view, const Manner& manner, int decimals,
                       bool ascii) {
  std::string text = shown(value, view, manner, decimals);
  if (!is_temperature(view)) return text + " %";
  text += ascii ? " " : " °";
  return text + (manner.settings.show == Show::celsius ? "C" : "F");
}

std::string figures(const AlarmView& view, std::optional<Milli> value, std::optional<Milli> limit,
                    const Manner& manner, bool trend) {
  if (!measures(view.kind)) return "";
  const bool early = view.kind == RuleKind::rate || view.kind == RuleKind::trend;
  // The chart's own limits say nothing to a keeper; the hour at which the real one is reached does.
  if (early) limit.reset();
  int decimals = 1;
  const auto written = [&](Milli one) { return shown(one, view, manner, decimals); };
  if (value && limit && *value != *limit)
    while (decimals < 3 && written(*value) == written(*limit)) ++decimals;
  std::string text;
  if (value) {
    text += " " + value_text(*value, view, manner, decimals, true);
    if (view.kind == RuleKind::spread) text += " apart";
    if (trend && !early) text += trend_word(view.trend);
  }
  if (early && trend) text += pace(view, manner);
  if (limit)
    text += (view.downwards || view.kind == RuleKind::below ? " (min " : " (max ") +
            written(*limit) + ")";
  return text;
}

std::string plain(std::string_view text) {
  std::string out = to_ascii(text);
  for (char& letter : out)
    if (letter < ' ' || letter > '~') letter = ' ';
  return out;
}

std::string fitted(const std::vector<Wording>& wordings, std::string_view name) {
  const std::string ascii = plain(name);
  std::string line;
  for (std::size_t i = 0; i < wordings.size(); ++i) {
    const Wording& wording = wordings[i];
    const std::size_t taken = wording.before.size() + wording.after.size();
    const std::size_t room = taken < kFirstLine ? kFirstLine - taken : 0;
    const bool last = i + 1 == wordings.size();
    if (!last && room < std::min(ascii.size(), kNameRest)) continue;
    line = wording.before + shortened(ascii, room) + wording.after;
    break;
  }
  return line.substr(0, kFirstLine);
}

Wall since(const AlarmView& view, const AlarmEvent& event) {
  return view.since ? *view.since : view.raised_at.value_or(event.at);
}

std::string alarm_line(const AlarmView& view, const AlarmEvent& event, std::size_t more,
                       const Manner& manner) {
  const std::optional<Milli> value = view.active && view.value ? view.value : event.value;
  const std::optional<Milli> limit = view.limit ? view.limit : event.limit;
  std::string before = std::string(fault_word(view)) + " ";
  if (before == "SIGNAL ") before += plain(view.signal) + " ";
  const std::string facts = figures(view, value, limit, manner, view.active) + " since " +
                            clock_text(since(view, event), manner);
  const auto cabinet = manner.settings.cabinets.find(view.key.cabinet);
  const MachineType machine =
      cabinet == manner.settings.cabinets.end() ? MachineType::forced : cabinet->second.machine;
  const auto& advice = advice_for(view, machine).first;
  std::vector<Wording> wordings;
  if (more > 0)
    wordings.push_back(
        {before, facts + " +" + std::to_string(more) + " more. " + std::string(advice[0])});
  for (const std::string_view words : advice)
    wordings.push_back({before, facts + ". " + std::string(words)});
  wordings.push_back({before, facts});
  return fitted(wordings, place(view, manner));
}

std::string first_line_of(std::string_view text) { return plain(text).substr(0, kFirstLine); }

}  // namespace clutchward
