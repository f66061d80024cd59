// Hours as stretches between instants, never by what a clock face shows: in autumn a clock shows an
// hour twice, and quiet hours end once.
#include "notification/duty.h"

#include <algorithm>

#include "notification/episode.h"

namespace clutchward {
namespace {

using std::chrono::days;
using std::chrono::local_days;

// Stand-ins of stand-ins; a ring of them ends here.
constexpr int kSubstitutes = 8;
// A week and the days before and after it.
constexpr int kDaysAhead = 9;
// Stretches that follow each other without a gap, for ever: whoever has such hours is told so.
constexpr int kJoined = 16;

local_days day_of(Wall time, const Zone& zone) {
  return std::chrono::floor<days>(zone.to_local(time));
}

bool on(std::uint8_t mask, local_days day) {
  const unsigned index = std::chrono::weekday{day}.iso_encoding() - 1;
  return (mask >> index & 1U) != 0;
}

struct Stretch {
  Wall from;
  Wall to;
};

Stretch stretch_of(const DayHours& hours, local_days day, const Zone& zone) {
  const local_days end = hours.to <= hours.from ? day + days{1} : day;
  return {zone.to_wall(day + hours.from), zone.to_wall(end + hours.to)};
}

// The latest end of those that hold at `at`.
std::optional<Wall> one_end(const std::vector<DayHours>& hours, Wall at, const Zone& zone) {
  std::optional<Wall> end;
  const local_days today = day_of(at, zone);
  for (const DayHours& each : hours)
    for (local_days day = today - days{1}; day <= today; day += days{1}) {
      if (!on(each.days, day)) continue;
      const Stretch stretch = stretch_of(each, day, zone);
      if (stretch.from <= at && at < stretch.to && (!end || stretch.to > *end)) end = stretch.to;
    }
  return end;
}

bool is_high(Priority priority) { return priority == Priority::high; }

}  // namespace

std::optional<Wall> end_of(const std::vector<DayHours>& hours, Wall at, const Zone& zone) {
  auto end = one_end(hours, at, zone);
  for (int i = 0; end && i < kJoined; ++i) {
    const auto further = one_end(hours, *end, zone);
    if (!further) break;
    end = further;
  }
  return end;
}

std::optional<Wall> next_of(const std::vector<DayHours>& hours, Wall at, const Zone& zone) {
  std::optional<Wall> next;
  const local_days today = day_of(at, zone);
  for (const DayHours& each : hours)
    for (int ahead = -1; ahead < kDaysAhead; ++ahead) {
      const local_days day = today + days{ahead};
      if (!on(each.days, day)) continue;
      const Wall from = stretch_of(each, day, zone).from;
      if (from <= at) continue;
      if (!next || from < *next) next = from;
      break;
    }
  return next;
}

void Called::add(const Called& more) {
  for (const std::string& contact : more.now) add_contact(now, contact);
  for (const std::string& contact : more.later) add_contact(later, contact);
  std::erase_if(later, [&](const std::string& contact) {
    return std::find(now.begin(), now.end(), contact) != now.end();
  });
}

const ContactTimes* Duty::times_of(const std::string& contact) const {
  if (!trusted_) return nullptr;
  const auto found = settings_.contact_times.find(contact);
  return found == settings_.contact_times.end() ? nullptr : &found->second;
}

const AwaySettings* Duty::away(const std::string& contact) const {
  const ContactTimes* times = times_of(contact);
  if (times == nullptr) return nullptr;
  const local_days today = day_of(now_, zone_);
  for (const AwaySettings& each : times->away)
    if (each.from <= today && today <= each.until) return &each;
  return nullptr;
}

Whereabouts Duty::standing(const std::string& contact) const {
  const ContactTimes* times = times_of(contact);
  if (times == nullptr) return {};
  if (const AwaySettings* gone = away(contact))
    return {Presence::away, zone_.to_wall(gone->until + days{1} + Span{0})};
  if (!times->hours.empty() && !one_end(times->hours, now_, zone_))
    return {Presence::off, next_of(times->hours, now_, zone_)};
  if (const auto end = end_of(times->quiet, now_, zone_)) return {Presence::quiet, end};
  return {};
}

std::vector<std::string> Duty::people(const std::vector<std::string>& ids) const {
  std::vector<std::string> named;
  for (const std::string& id : ids) {
    const auto rota = settings_.rotas.find(id);
    if (rota == settings_.rotas.end()) {
      add_contact(named, id);
      continue;
    }
    const auto& week = rota->second.days;
    // A day of duty that begins at 08:00 goes on to 08:00: at seven it is still yesterday's.
    const local_days today = day_of(now_, zone_);
    const bool begun = zone_.to_wall(today + rota->second.begins) <= now_;
    const std::chrono::weekday weekday{begun ? today : today - days{1}};
    for (std::size_t day = 0; day < week.size(); ++day)
      if (!trusted_ || weekday.iso_encoding() == day + 1)
        for (const std::string& contact : week[day]) add_contact(named, contact);
  }
  std::vector<std::string> present;
  for (std::string contact : named) {
    const AwaySettings* gone = away(contact);
    for (int i = 0; gone != nullptr && i < kSubstitutes; ++i) {
      contact = gone->instead;
      gone = away(contact);
    }
    if (!contact.empty() && gone == nullptr) add_contact(present, contact);
  }
  return present;
}

bool Duty::hears(const std::string& contact, Priority priority) const {
  const auto channels = settings_.contacts.find(contact);
  if (channels == settings_.contacts.end()) return false;
  const auto times = settings_.contact_times.find(contact);
  if (times != settings_.contact_times.end() && priority < times->second.least) return false;
  return std::any_of(channels->second.begin(), channels->second.end(),
                     [&](const ChannelSettings& channel) { return channel.least <= priority; });
}

bool Duty::can_be_told(const std::string& contact, Priority priority) const {
  if (!hears(contact, priority)) return false;
  const Presence presence = standing(contact).presence;
  return presence == Presence::there || (presence == Presence::quiet && is_high(priority));
}

Called Duty::call(const std::vector<std::string>& ids, Priority priority, bool all) const {
  Called called;
  for (const std::string& contact : people(ids)) {
    if (!hears(contact, priority)) continue;
    const bool now = can_be_told(contact, priority) || (all && is_high(priority));
    add_contact(now ? called.now : called.later, contact);
  }
  called.nobody = called.now.empty();
  return called;
}

std::vector<std::string> Duty::everybody() const {
  std::vector<std::string> present;
  std::vector<std::string> all;
  for (const auto& [contact, channels] : settings_.contacts) {
    if (channels.empty()) continue;
    all.push_back(contact);
    if (away(contact) == nullptr) present.push_back(contact);
  }
  return present.empty() ? all : present;
}

std::vector<Duty::Instead> Duty::stands_in_for(const std::string& contact) const {
  std::vector<Instead> all;
  for (const auto& [other, times] : settings_.contact_times)
    if (const AwaySettings* gone = away(other); gone != nullptr && gone->instead == contact)
      all.push_back({other, gone->until});
  return all;
}

}  // namespace clutchward
