// Local time from a list of offset changes. It refuses to know where the list comes from: no zone
// database, no system call. The list is taken as finite: past its end the last offset holds.
#include "base/zone.h"

#include <algorithm>
#include <cctype>
#include <utility>

#include "base/check.h"

namespace clutchward {
namespace {

const Zone::Change& utc() {
  static const Zone::Change change{Wall{}, std::chrono::seconds(0), "UTC"};
  return change;
}

std::chrono::local_time<Span> shown(Wall time, std::chrono::seconds offset) {
  return std::chrono::local_time<Span>(time.time_since_epoch() + offset);
}

}  // namespace

bool is_zone_name(std::string_view name) {
  bool part_starts = true;
  for (const char c : name) {
    const auto u = static_cast<unsigned char>(c);
    if (part_starts
            ? std::isupper(u) == 0
            : (std::isalnum(u) == 0 && std::string_view("_-+/").find(c) == std::string_view::npos))
      return false;
    part_starts = c == '/';
  }
  return !name.empty() && !part_starts && name.size() <= 64;
}

Zone::Zone(std::string name, std::vector<Change> changes)
    : name_(std::move(name)), changes_(std::move(changes)) {
  CHECK(std::is_sorted(changes_.begin(), changes_.end(),
                       [](const Change& a, const Change& b) { return a.from < b.from; }));
}

const Zone::Change& Zone::change_at(Wall time) const {
  if (changes_.empty()) return utc();
  const auto after = std::upper_bound(changes_.begin(), changes_.end(), time,
                                      [](Wall t, const Change& change) { return t < change.from; });
  return after == changes_.begin() ? *after : *(after - 1);
}

std::chrono::seconds Zone::offset_at(Wall time) const { return change_at(time).offset; }

const std::string& Zone::abbreviation_at(Wall time) const { return change_at(time).abbreviation; }

std::chrono::local_time<Span> Zone::to_local(Wall time) const {
  return shown(time, offset_at(time));
}

Wall Zone::to_wall(std::chrono::local_time<Span> local) const {
  const Wall as_utc(local.time_since_epoch());
  if (changes_.empty()) return as_utc;
  // The first offset whose last local time lies past `local`: the earlier of two that show it.
  // Where a spring gap swallowed `local`, that offset begins only after it, at the instant of the
  // change.
  std::size_t low = 0;
  std::size_t high = changes_.size() - 1;
  while (low < high) {
    const std::size_t middle = (low + high) / 2;
    if (shown(changes_[middle + 1].from, changes_[middle].offset) > local)
      high = middle;
    else
      low = middle + 1;
  }
  const Wall time = as_utc - changes_[low].offset;
  return low == 0 ? time : std::max(time, changes_[low].from);
}

Wall Zone::next_at(Wall after, Span time_of_day) const {
  CHECK(time_of_day >= Span(0) && time_of_day < std::chrono::days(1));
  // From the day before, since a gap at midnight puts a time of day into the next date.
  auto day = std::chrono::floor<std::chrono::days>(to_local(after)) - std::chrono::days(1);
  for (;; day += std::chrono::days(1)) {
    const Wall time = to_wall(day + time_of_day);
    if (time > after) return time;
  }
}

}  // namespace clutchward
