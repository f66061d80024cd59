// What the page says of alarms, cabinets and the watch, in whole words and the site's own units and
// clock. Plain text; escaping is the page's business.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "engine/view.h"
#include "web/standing.h"
#include "web/watch_view.h"

namespace clutchward {

class PageWords {
 public:
  // `watch` must outlive this.
  explicit PageWords(const WatchView& watch) : watch_(watch) {}

  std::string fault(const AlarmView& alarm) const;    // "Too hot"
  std::string figures(const AlarmView& alarm) const;  // "39.8 °C, limit 39.5 °C, worst 40.1 °C"
  std::string since(const AlarmView& alarm) const;    // "since 02:14 (12 min), high priority"
  std::string who(const AlarmView& alarm) const;      // "Nobody has it yet"

  std::string mark(Standing standing) const;  // "Needs you"
  std::string value(
      const CabinetView& cabinet) const;  // "39.8 °C", "37.2 to 39.8 °C", "no reading"
  std::string trend(Trend trend) const;   // "rising"; "" where unknown
  std::string age(const CabinetView& cabinet) const;                 // "last reading 4 s ago"
  std::vector<std::string> notes(const CabinetView& cabinet) const;  // attending, cooling, mains
  std::string batch(const BatchView& batch) const;  // "Domestic hen, day 12 of 21, setting, ..."

  // What of this cabinet is deliberately not watched now, and until when.
  std::vector<std::string> unwatched(const CabinetView& cabinet) const;
  // "Too hot (high of hens-12) raised at 39.8", "high: acknowledged by mara".
  std::string happened(const AlarmEvent& event) const;
  // "39.5 °C"; a difference is scaled only.
  std::string temperature(Milli value, bool difference = false) const;

  std::string limit(const AlarmView& alarm) const;  // "above 39.5 °C"; "" for kinds without one

  // Why the page might be missing something; none where all is well.
  std::vector<std::string> doubts() const;
  // The watch's own health, as pairs for a list.
  std::vector<std::pair<std::string, std::string>> facts() const;

  std::string clock(Wall time) const;           // "02:14"; "28 Feb 23:50" on another day
  std::string clock_and_zone(Wall time) const;  // "02:14:05 GMT"

 private:
  // Why a rule says nothing now.
  std::string why_held(const std::string& reason) const;
  std::string amount(Milli value, const AlarmView& alarm, int decimals) const;

  const WatchView& watch_;
};

}  // namespace clutchward
