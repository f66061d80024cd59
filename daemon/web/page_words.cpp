// The page's words.
#include "web/page_words.h"

#include <algorithm>
#include <array>

#include "alarm/trend.h"
#include "base/text.h"
#include "notification/wording.h"

namespace clutchward {
namespace {

struct LocalTime {
  std::chrono::year_month_day day;
  std::chrono::hh_mm_ss<Span> time;
};

LocalTime local(const Zone& zone, Wall time) {
  const auto at = zone.to_local(time);
  const auto day = std::chrono::floor<std::chrono::days>(at);
  return {std::chrono::year_month_day(day), std::chrono::hh_mm_ss<Span>(at - day)};
}

std::string two(long number) { return (number < 10 ? "0" : "") + std::to_string(number); }

std::string capital(std::string text) {
  if (!text.empty() && text[0] >= 'a' && text[0] <= 'z') text[0] = static_cast<char>(text[0] - 32);
  return text;
}

const char* too_high(Quantity quantity) {
  if (quantity == Quantity::humidity) return "Too humid";
  if (quantity == Quantity::egg) return "Eggs too hot";
  return quantity == Quantity::wet_bulb ? "Wet bulb too high" : "Too hot";
}
const char* too_low(Quantity quantity) {
  if (quantity == Quantity::humidity) return "Too dry";
  if (quantity == Quantity::egg) return "Eggs too cold";
  return quantity == Quantity::wet_bulb ? "Wet bulb too low" : "Too cold";
}

// What the connection to the broker keeps a rule from saying: true of a start and of a reconnect.
std::string awaiting(const WatchView& watch, const std::string& since) {
  if (!watch.broker_linked) return "the broker is away";
  return "connected to the broker only " + (since.empty() ? "lately" : "since " + since) +
         ", so it waits until news could have come";
}

std::string reason_text(const std::string& reason) {
  if (reason == "warming_up") return "the machine is still warming up";
  if (reason == "cooling") return "the eggs are being cooled";
  if (reason == "attending") return "somebody is at the cabinet";
  return reason;
}

// How people call the end of such a fault.
const char* what_is_back(RuleKind kind) {
  switch (kind) {
    case RuleKind::silent:
    case RuleKind::all_silent:
      return "readings are back";
    case RuleKind::broker:
      return "the connection is back";
    case RuleKind::power:
      return "the mains is back";
    case RuleKind::turning:
      return "turned again";
    case RuleKind::above:
    case RuleKind::below:
    case RuleKind::spread:
    case RuleKind::rate:
    case RuleKind::trend:
      return "back in range";
    default:
      return "over";
  }
}

std::string degrees(Milli value, bool difference, Show show, int decimals) {
  if (show == Show::celsius) return milli_text(value, decimals);
  return milli_text(static_cast<std::int64_t>(value) * 9 / 5 + (difference ? 0 : 32'000), decimals);
}

}  // namespace

std::string PageWords::clock(Wall time) const {
  static constexpr std::array<const char*, 12> kMonths = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                                          "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
  const LocalTime at = local(watch_.zone, time);
  std::string text = two(at.time.hours().count()) + ":" + two(at.time.minutes().count());
  if (at.day == local(watch_.zone, watch_.now).day) return text;
  return std::to_string(static_cast<unsigned>(at.day.day())) + " " +
         kMonths.at(static_cast<unsigned>(at.day.month()) - 1) + " " + text;
}

std::string PageWords::clock_and_zone(Wall time) const {
  const LocalTime at = local(watch_.zone, time);
  return two(at.time.hours().count()) + ":" + two(at.time.minutes().count()) + ":" +
         two(at.time.seconds().count()) + " " + watch_.zone.abbreviation_at(time);
}

std::string PageWords::amount(Milli value, const AlarmView& alarm, int decimals) const {
  if (alarm.quantity == Quantity::humidity) return milli_text(value, decimals) + " %";
  return degrees(value, alarm.kind == RuleKind::spread, watch_.show, decimals) +
         (watch_.show == Show::celsius ? " °C" : " °F");
}

std::string PageWords::fault(const AlarmView& alarm) const {
  switch (alarm.kind) {
    case RuleKind::above:
      return too_high(alarm.quantity);
    case RuleKind::below:
      return too_low(alarm.quantity);
    case RuleKind::silent:
      return "No readings";
    case RuleKind::turning:
      return "Eggs not turned";
    case RuleKind::still:
      return "Turning when it should not";
    case RuleKind::spread:
      return "Unevenly warm";
    case RuleKind::broker:
      return "Broker connection lost";
    case RuleKind::power:
      return "Mains lost";
    case RuleKind::cooling:
      return "Airing went wrong";
    case RuleKind::lid:
      return "Lid still open?";
    case RuleKind::rate:
      return alarm.downwards ? "Heading for the low limit" : "Heading for the high limit";
    case RuleKind::trend:
      return alarm.downwards ? "Drifting colder" : "Drifting warmer";
    case RuleKind::signal:
      return alarm.signal + " not as it should be";
    case RuleKind::probe:
      return "A probe not to be believed";
    case RuleKind::all_silent:
      return "All cabinets silent";
  }
  return alarm.key.alarm;
}

std::string PageWords::figures(const AlarmView& alarm) const {
  std::string text = "(" + alarm.key.alarm;
  if (!alarm.key.batch.empty()) text += " of " + alarm.key.batch;
  text += ")";
  const bool measures = alarm.kind == RuleKind::above || alarm.kind == RuleKind::below ||
                        alarm.kind == RuleKind::spread || alarm.kind == RuleKind::rate ||
                        alarm.kind == RuleKind::trend;
  if (!measures) return text + (alarm.says.empty() ? "" : " " + alarm.says);
  // As many decimals as it takes to tell the value from its limit.
  int decimals = 1;
  while (decimals < 3 && alarm.value && alarm.limit && *alarm.value != *alarm.limit &&
         amount(*alarm.value, alarm, decimals) == amount(*alarm.limit, alarm, decimals))
    ++decimals;
  if (alarm.value) text += " " + amount(*alarm.value, alarm, decimals);
  if (alarm.limit) text += ", limit " + amount(*alarm.limit, alarm, decimals);
  if (alarm.harm && alarm.harm_at)
    text += ", at this pace " + amount(*alarm.harm, alarm, 1) + " at " + clock(*alarm.harm_at);
  if (alarm.worst && alarm.worst != alarm.value)
    text += ", worst " + amount(*alarm.worst, alarm, decimals);
  return text;
}

std::string PageWords::since(const AlarmView& alarm) const {
  std::string text;
  const auto add = [&](const std::string& part) { text += (text.empty() ? "" : ", ") + part; };
  const auto from = alarm.since ? alarm.since : alarm.raised_at;
  if (alarm.state == AlarmState::pending) add("not yet for long enough to raise an alarm");
  if (from && (alarm.active || alarm.state == AlarmState::pending))
    add("since " + clock(*from) + " (" + about(watch_.now - *from) + ")");
  if (alarm.returned_at && !alarm.active) {
    if (alarm.raised_at) add("raised " + clock(*alarm.raised_at));
    add(std::string(what_is_back(alarm.kind)) + " since " + clock(*alarm.returned_at));
  }
  for (const std::string& reason : alarm.suppressed_for)
    add((alarm.active ? "" : "not watched: ") + why_held(reason));
  if (alarm.no_data) add("no fresh reading: this is what was last known");
  add(std::string(name_of(alarm.priority)) + " priority");
  return capital(text);
}

std::string PageWords::why_held(const std::string& reason) const {
  if (reason != "broker_lost") return reason_text(reason);
  return awaiting(watch_, watch_.broker_since ? clock(*watch_.broker_since) : "");
}

std::string PageWords::who(const AlarmView& alarm) const {
  return capital(who_has_it(alarm, [this](Wall time) { return clock(time); }));
}

std::string PageWords::mark(Standing standing) const {
  switch (standing) {
    case Standing::needs_you:
      return "Needs you";
    case Standing::in_hand:
      return "Somebody has it";
    case Standing::look:
      return "Back in range, have a look";
    case Standing::no_data:
      return "No fresh reading";
    case Standing::pending:
      return "Just out of range";
    case Standing::unwatched:
      return "Not watched in full";
    case Standing::empty:
      return "No eggs set";
    case Standing::fine:
      break;
  }
  return "In range";
}

std::string PageWords::value(const CabinetView& cabinet) const {
  const std::string unit = watch_.show == Show::celsius ? " °C" : " °F";
  const auto figure = [&](Milli value) { return degrees(value, false, watch_.show, 1); };
  std::string text;
  if (cabinet.temperature)
    text = figure(*cabinet.temperature) + unit;
  else if (cabinet.coldest && cabinet.hottest)
    text = figure(*cabinet.coldest) + " to " + figure(*cabinet.hottest) + unit;
  if (text.empty()) return "no reading";
  return cabinet.no_data ? "last " + text : text;
}

std::string PageWords::trend(Trend trend) const {
  return trend == Trend::unknown ? std::string() : std::string(name_of(trend));
}

std::string PageWords::age(const CabinetView& cabinet) const {
  std::string text = cabinet.last_reading
                         ? "Last reading " + about(watch_.now - *cabinet.last_reading) + " ago"
                         : "No reading has come yet";
  if (cabinet.humidity) text += ", humidity " + milli_text(*cabinet.humidity, 0) + " %";
  if (cabinet.last_turn) text += ", turned " + about(watch_.now - *cabinet.last_turn) + " ago";
  return text;
}

std::vector<std::string> PageWords::notes(const CabinetView& cabinet) const {
  std::vector<std::string> notes;
  if (cabinet.attending_until)
    notes.push_back(person(cabinet.attending_by) + " is at the cabinet until " +
                    clock(*cabinet.attending_until));
  if (cabinet.power && !*cabinet.power) notes.emplace_back("The mains is lost");
  if (cabinet.cooling) notes.emplace_back("Being cooled");
  if (cabinet.batches.empty()) notes.emplace_back("No eggs set: only the machine is watched");
  return notes;
}

std::string PageWords::batch(const BatchView& batch) const {
  std::string text = batch.name.empty() ? batch.profile : batch.name;
  if (batch.set)
    text += ", day " + milli_text(static_cast<std::int64_t>(batch.day) * 1000, 0) + " of " +
            milli_exact(static_cast<std::int64_t>(batch.days * 1000));
  else
    text += ", to be set " + clock(batch.set_at);
  if (!batch.stage.empty()) text += ", " + batch.stage;
  text += ", target " + degrees(batch.target, false, watch_.show, 1) +
          (watch_.show == Show::celsius ? " °C" : " °F");
  if (batch.cooling) text += ", being cooled";
  return text;
}

std::string PageWords::temperature(Milli value, bool difference) const {
  return degrees(value, difference, watch_.show, 1) +
         (watch_.show == Show::celsius ? " °C" : " °F");
}

std::vector<std::string> PageWords::unwatched(const CabinetView& cabinet) const {
  std::vector<std::string> list;
  const bool watched = std::any_of(cabinet.batches.begin(), cabinet.batches.end(),
                                   [](const BatchView& batch) { return batch.set; });
  if (!watched) list.emplace_back("no eggs set, so only the machine is watched");
  if (cabinet.attending_until)
    list.push_back("cold, silence and turning wait until " + clock(*cabinet.attending_until) +
                   ", because somebody is there");
  for (const AlarmView& alarm : cabinet.alarms) {
    std::string text = fault(alarm) + " " + figures(alarm);
    if (alarm.state == AlarmState::out_of_service) {
      text += ", " + who_has_it(alarm, [this](Wall time) { return clock(time); });
    } else if (alarm.state == AlarmState::suppressed && !alarm.attending &&
               !alarm.suppressed_for.empty()) {
      text += ": " + why_held(alarm.suppressed_for.front());
    } else {
      continue;
    }
    list.push_back(std::move(text));
  }
  return list;
}

std::string PageWords::limit(const AlarmView& alarm) const {
  if (!alarm.limit) return {};
  return (alarm.kind == RuleKind::below ? "below " : "above ") + amount(*alarm.limit, alarm, 1);
}

std::string PageWords::happened(const AlarmEvent& event) const {
  std::string kind(name_of(event.kind));
  std::replace(kind.begin(), kind.end(), '_', ' ');
  std::string text = event.key.alarm;
  if (!event.key.batch.empty()) text += " of " + event.key.batch;
  text += ": " + kind;
  if (event.by && !event.by->empty()) text += " by " + *event.by;
  return text;
}

std::vector<std::string> PageWords::doubts() const {
  std::vector<std::string> doubts;
  const auto because = [](const std::string& trouble) {
    return trouble.empty() ? "." : ": " + trouble + ".";
  };
  if (!watch_.broker_linked) {
    std::string text = "The connection to the broker is lost";
    if (watch_.broker_since)
      text += " since " + clock(*watch_.broker_since) + " (" +
              about(watch_.now - *watch_.broker_since) + ")";
    doubts.push_back(text + ": no new readings can come" + because(watch_.broker_trouble));
  }
  if (!watch_.store_writable)
    doubts.push_back("What happens now cannot be saved" + because(watch_.store_trouble));
  if (!watch_.clock_trusted)
    doubts.emplace_back("The clock of this machine has not been set: times are wrong.");
  for (const ChannelWatch& channel : watch_.channels)
    if (!channel.trouble.empty())
      doubts.push_back("Messages to " + channel.contact + " by " + channel.kind +
                       " do not get out" + because(channel.trouble));
  if (watch_.intake.turned_away > 0)
    doubts.emplace_back("Messages of more cabinets than max_cabinets allows were turned away.");
  for (const WatchFault& fault : watch_.faults)
    if (fault.shown == Shown::as_fault) {
      doubts.push_back(fault.what + (fault.once ? " at " : " since ") + clock(fault.since) + ": " +
                       fault.detail);
      std::replace(doubts.back().begin(), doubts.back().end(), '\n', ' ');
    }
  if (!watch_.beats_withheld.empty())
    doubts.push_back("Outside watchers are given no sign of life: " + watch_.beats_withheld + ".");
  return doubts;
}

std::vector<std::pair<std::string, std::string>> PageWords::facts() const {
  std::vector<std::pair<std::string, std::string>> facts;
  facts.emplace_back("Broker", (watch_.broker_linked ? "connected" : "not connected") +
                                   (watch_.broker_since ? " since " + clock(*watch_.broker_since)
                                                        : std::string()));
  facts.emplace_back("Messages waiting", std::to_string(watch_.waiting_messages));
  for (const ChannelWatch& channel : watch_.channels)
    facts.emplace_back(capital(channel.contact) + ", " + channel.kind,
                       channel.last_delivered ? "last delivered " + clock(*channel.last_delivered)
                                              : std::string("nothing delivered since the start"));
  std::uint64_t rejected = 0;
  for (const auto& [reason, count] : watch_.intake.rejected) rejected += count;
  facts.emplace_back("Readings", std::to_string(watch_.intake.accepted) + " taken, " +
                                     std::to_string(rejected) + " not understood");
  facts.emplace_back("Running for", about(watch_.uptime));
  facts.emplace_back("Version", watch_.version);
  return facts;
}

}  // namespace clutchward
