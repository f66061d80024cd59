// What happened to an alarm: the values that the engine hands out and everyone else tells.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/time.h"
#include "rules/rule.h"

namespace clutchward {

// One alarm. `batch` is "" for a machine's rule, `cabinet` and `batch` for one of the site.
struct AlarmKey {
  std::string cabinet;
  std::string batch;
  std::string alarm;
  auto operator<=>(const AlarmKey&) const = default;
};

enum class EventKind : std::uint8_t {
  raised,
  returned,
  acknowledged,
  raised_again,
  snoozed,
  snooze_ended,
  worsened,
  passed_on,
  reset,
  out_of_service,
  in_service
};
inline constexpr std::array<std::string_view, 11> kEventNames = {
    "raised",   "returned",  "acknowledged", "raised_again",   "snoozed",   "snooze_ended",
    "worsened", "passed_on", "reset",        "out_of_service", "in_service"};
std::string_view name_of(EventKind kind);

// One line of the event stream.
struct AlarmEvent {
  Wall at{};
  AlarmKey key;
  EventKind kind = EventKind::raised;
  std::optional<Milli> value;  // what the rule sees now, as last combined
  std::optional<Milli> limit;
  std::optional<Milli> worst;
  std::optional<std::string> by;
  // Of value and limit where it is not the quantity's own: "K" (a difference), "min"; else "".
  std::string_view unit{};
  bool operator==(const AlarmEvent&) const = default;
};

enum class AlarmState : std::uint8_t {
  out_of_service,
  unacknowledged,
  acknowledged,
  latched,
  returned,
  suppressed,
  pending,
  normal
};
inline constexpr std::array<std::string_view, 8> kAlarmStateNames = {
    "out_of_service", "unacknowledged", "acknowledged", "latched",
    "returned",       "suppressed",     "pending",      "normal"};
std::string_view name_of(AlarmState state);

enum class Trend : std::uint8_t { unknown, steady, rising, falling };

// Everything that a person may want to know of one alarm now: for messages, the page, the picture.
struct AlarmView {
  AlarmKey key;
  std::string cabinet_name;   // "Setter A"
  std::string batch_name;     // "Domestic hen"
  std::optional<double> day;  // of the batch
  std::string stage;
  RuleKind kind = RuleKind::above;
  Quantity quantity = Quantity::temperature;
  Priority priority = Priority::medium;  // as it stands now
  AlarmState state = AlarmState::normal;
  bool active = false;
  bool acknowledged = false;
  bool latched = false;
  bool no_data = false;    // the cabinet has no fresh value: the state says what was last known
  bool attending = false;  // suppressed because somebody is at the cabinet
  std::vector<std::string> suppressed_for;  // warming_up, cooling, attending, broker_lost
  std::optional<Wall> snoozed_until;
  std::string snoozed_by;
  std::string acknowledged_by;
  std::optional<Wall> acknowledged_at;
  // When it speaks up again by itself: the end of the snooze or of the acknowledgement's hold.
  std::optional<Wall> rings_again_at;
  std::optional<Wall> turns_high_at;  // its priority becomes high then, if it lasts
  std::optional<Wall> raised_at;
  std::optional<Wall> since;  // when its condition turned true
  std::optional<Wall> returned_at;
  std::optional<Milli> value;
  std::optional<Milli> limit;
  std::optional<Milli> target;
  std::optional<Milli> worst;
  Trend trend = Trend::unknown;
  std::string episode;     // "" while normal; never the same twice
  bool downwards = false;  // lower is worse
  std::string signal;      // kind signal: which
  std::string says;        // kinds without a number: what is wrong, in plain words
  std::string part_of;     // the alarm that tells this one's cause ("all_silent"), "" : none known
  // At this pace that limit is reached then, likely between the two.
  std::optional<Milli> harm;
  std::optional<Wall> harm_at;
  std::optional<Wall> harm_from;
  std::optional<Wall> harm_until;
  std::string out_of_service_by;
  std::string out_of_service_why;
  std::optional<Wall> out_of_service_until;
  std::optional<Span> acknowledge_holds;  // how long an acknowledgement would; none: without end
  Span snooze_max{0};
  bool operator==(const AlarmView&) const = default;
};

// How notification/ and wire/ look up an alarm as it stands now.
class AlarmLookup {
 public:
  virtual ~AlarmLookup() = default;
  virtual std::optional<AlarmView> find(const AlarmKey& key) const = 0;
  // Every alarm of the cabinet that is not normal, in the engine's order (no batch first).
  virtual std::vector<AlarmView> of_cabinet(const std::string& cabinet) const = 0;
};

}  // namespace clutchward
