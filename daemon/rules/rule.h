// A rule: what counts as wrong and how it is told. RulePatch is what one layer of the configuration
// says (any subset of keys); Rule is what holds after the layers are laid over each other.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/time.h"
#include "reading/reading.h"
#include "rules/early.h"

namespace clutchward {

enum class RuleKind : std::uint8_t {
  above,
  below,
  silent,
  turning,
  still,
  spread,
  broker,
  power,
  rate,        // heading for the limit
  trend,       // slow drift
  signal,      // an on/off quantity in its bad state
  probe,       // a probe that is not to be believed
  all_silent,  // of the site: every cabinet fell silent together
  cooling,     // an airing that was missed or went wrong
  lid,         // after an airing: it does not warm up again
};
inline constexpr std::array<std::string_view, 15> kRuleKindNames = {
    "above", "below", "silent", "turning", "still",      "spread",  "broker", "power",
    "rate",  "trend", "signal", "probe",   "all_silent", "cooling", "lid"};
std::string_view name_of(RuleKind kind);

enum class Priority : std::uint8_t { low, medium, high };
std::string_view name_of(Priority priority);

// A span that may be switched off.
struct SpanOrOff {
  std::optional<Span> span;  // none: off
  bool operator==(const SpanOrOff&) const = default;
};
struct MilliOrOff {
  std::optional<Milli> value;  // none: off
  bool operator==(const MilliOrOff&) const = default;
};

// What one layer says of one rule. Every key may be left out.
struct RulePatch {
  bool off = false;  // the rule is taken out; no other key is set then
  std::optional<RuleKind> kind;
  std::optional<Quantity> quantity;
  std::optional<Milli> limit;  // absolute
  // From the batch's target, or from the stage's humidity band: plus for above, minus for below.
  std::optional<Milli> offset;
  std::optional<Milli> deadband;
  std::optional<Span> delay;
  std::optional<Span> clear_delay;
  std::optional<bool> latch;
  std::optional<Span> snooze_max;
  std::optional<Priority> priority;
  std::optional<MilliOrOff> worse_by;
  std::optional<SpanOrOff> acknowledge_holds;
  std::optional<Span> warm_up;
  std::optional<bool> machine;
  std::optional<Span> after;          // silent, broker, probe, all_silent, lid
  std::optional<int> missed;          // turning
  std::optional<Span> high_after;     // power: priority high once it has lasted this long
  std::optional<Milli> fall;          // cooling: by how much the temperature must have fallen
  std::optional<MilliOrOff> deepest;  // cooling: not below this, C
  std::optional<SpanOrOff> longest;   // cooling: not for longer
  std::optional<Milli> rise;          // lid: by how much it must have risen again
  std::optional<SpanOrOff> average;   // above, below: judged on the mean over so long
  std::optional<std::array<Priority, 3>> by_third;  // turning: priority by thirds of incubation
  EarlyPatch early;
  bool operator==(const RulePatch&) const = default;
};
using RulePatches = std::map<std::string, RulePatch>;

// What holds. Limits in thousandths; `limit` or `offset`, never both.
struct Rule {
  std::string id;
  RuleKind kind = RuleKind::above;
  Quantity quantity = Quantity::temperature;
  Priority priority = Priority::medium;
  bool machine = false;
  bool latch = true;
  std::optional<Milli> limit;
  std::optional<Milli> offset;
  Milli deadband = 200;
  std::optional<Milli> worse_by;
  Span delay{0};
  Span clear_delay{0};
  Span snooze_max{std::chrono::hours{2}};
  std::optional<Span> acknowledge_holds;
  Span warm_up{std::chrono::hours{3}};
  Span after{std::chrono::minutes{5}};
  int missed = 3;
  std::optional<Span> high_after;
  Milli fall = 1000;
  std::optional<Milli> deepest;
  std::optional<Span> longest;
  Milli rise = 1000;
  Span average{0};  // 0: on what is seen now
  std::optional<std::array<Priority, 3>> by_third;
  EarlyRule early;
  bool operator==(const Rule&) const = default;
};

// The built-in rules (the ladder, the machine rules, turning and broker), as patches: the lowest
// layer. Levels from extension publications and the trade; DEVELOPERS.md names them.
const RulePatches& built_in_rules();

// Lays `layers` over each other, later ones over earlier by key, and fills what is left unsaid.
// A rule that the last word turns off is left out; keys given after an `off` bring it back with its
// built-in values; a limit takes away an inherited offset and the other way round. A rule without a
// kind in any layer is skipped (config/ reports it). Sorted by id.
std::vector<Rule> resolve_rules(const std::vector<const RulePatches*>& layers);

// Lays one half of a layer over its other half, by key: what a profile says over what the one that
// it is based on says.
void lay_over(RulePatches& below, const RulePatches& above);

// Rules that belong to the machine, with or without a batch: overheat, silent, blind, spread,
// power, every rule of kind silent, spread, power, signal or probe, and any with `machine: true`.
bool is_machine_rule(const std::string& id, RuleKind kind, std::optional<bool> machine);

// Rules about the airing of eggs: there only where a stage has cooling windows.
inline bool is_airing_rule(RuleKind kind) {
  return kind == RuleKind::cooling || kind == RuleKind::lid;
}

// Rules on humidity that count from the stage's band (key `offset`): there only where it has one.
inline bool is_band_rule(const Rule& rule) {
  return rule.quantity == Quantity::humidity && rule.offset.has_value();
}

// Rules of the site: kinds broker and all_silent.
inline bool is_site_rule(RuleKind kind) {
  return kind == RuleKind::broker || kind == RuleKind::all_silent;
}

// Whether less is worse.
inline bool downwards(const Rule& rule) {
  return rule.kind == RuleKind::below ||
         (rule.kind == RuleKind::rate && rule.early.towards == Towards::low);
}

// Judged by what is kept of the cabinet's past readings: rate, trend, and quantity egg.
inline bool has_past(const Rule& rule) {
  return rule.kind == RuleKind::rate || rule.kind == RuleKind::trend ||
         rule.quantity == Quantity::egg;
}

}  // namespace clutchward
