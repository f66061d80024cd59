// The words of messages: what, where, how much and which way, the limit, since when. One builder
// for the first line of every kind. Text only; who gets it is decided elsewhere.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "alarm/event.h"
#include "base/zone.h"
#include "cabinet/settings.h"

namespace clutchward {

// What a text message shows on a locked phone (alarm-semantics, section 8).
inline constexpr std::size_t kFirstLine = 80;

// How the site reads: its units, its clock, its names.
struct Manner {
  const Settings& settings;
  const Zone& zone;
  Wall now;
};

// "TOO HOT", "NO READINGS"
std::string_view fault_word(const AlarmView& view);
// "BACK IN RANGE", "READINGS BACK"
std::string_view good_word(const AlarmView& view);

// "Setter A": the name, or the id; the site's for an alarm of the site. As written, in UTF-8.
std::string place(const AlarmView& view, const Manner& manner);

// "Mara" for "mara", "Somebody" for nobody.
std::string person(const std::optional<std::string>& by);
// "snoozed by Mara until 11:03"; of a snoozed alarm.
std::string snoozed_text(const AlarmView& view, const Manner& manner);

// "28 Feb"
std::string day_text(std::chrono::local_days day);

// "02:14" in the site's time; "28 Feb 23:50" on another day than today; "02:14 GMT" with `zone`.
std::string clock_text(Wall time, const Manner& manner, bool zone = false);

// A value with its unit, "39.8 °C"; a difference is scaled only. `ascii` leaves the degree sign
// out.
std::string value_text(Milli value, const AlarmView& view, const Manner& manner, int decimals = 1,
                       bool ascii = false);

// " 39.8 C rising (max 39.5)": as many decimals as it takes to tell the value from the limit.
// "" for kinds that measure nothing.
std::string figures(const AlarmView& view, std::optional<Milli> value, std::optional<Milli> limit,
                    const Manner& manner, bool trend);

// Plain ASCII without control characters.
std::string plain(std::string_view text);

// The first wording whose name is not cut below a recognisable rest; `before` + name + `after`.
// Never longer than kFirstLine.
struct Wording {
  std::string before;
  std::string after;
};
std::string fitted(const std::vector<Wording>& wordings, std::string_view name);

// "TOO HOT Setter A 39.8 C rising (max 39.5) since 02:14. Open the door"; `more` alarms beside it.
std::string alarm_line(const AlarmView& view, const AlarmEvent& event, std::size_t more,
                       const Manner& manner);

// When the condition began, as far as is known.
Wall since(const AlarmView& view, const AlarmEvent& event);

// A line of our own as it may stand first: ASCII, cut to kFirstLine.
std::string first_line_of(std::string_view text);

}  // namespace clutchward
