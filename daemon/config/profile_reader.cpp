// Reads profiles, their stages and cooling windows.
#include "config/profile_reader.h"

#include <algorithm>
#include <cstdint>
#include <optional>

#include "config/rule_reader.h"
#include "config/values.h"

namespace clutchward {

namespace {

using std::chrono::hours;

// A day of stages each would be 60; no schedule is finer.
constexpr std::size_t kStages = 64;
// "Cooling once or twice daily" is what the trade does; eight leaves room for the odd one.
constexpr std::size_t kWindows = 8;
constexpr Span kLongestWindow = hours{12};

// Millionths of a day as a span, rounded to the millisecond: 86,400,000 ms a day.
Span days_to_span(std::int64_t millionths) { return Span{(millionths * 864 + 5) / 10}; }

// "10:00" as a span since midnight.
std::optional<Span> read_time_of_day(const Field& field) {
  const std::string& text = field.node.text;
  const auto digit = [&](std::size_t at) { return text[at] >= '0' && text[at] <= '9'; };
  if (field.is_word() && text.size() == 5 && text[2] == ':' && digit(0) && digit(1) && digit(3) &&
      digit(4)) {
    const int hour = (text[0] - '0') * 10 + text[1] - '0';
    const int minute = (text[3] - '0') * 10 + text[4] - '0';
    if (hour < 24 && minute < 60) return hours{hour} + std::chrono::minutes{minute};
  }
  field.fault("a time of day from \"00:00\" to \"23:59\"");
  return std::nullopt;
}

std::optional<CoolingWindow> read_window(const Field& field) {
  const Section section(field, {"at", "for"});
  if (!section) return std::nullopt;
  const auto at_field = section.need("at", "a time of day such as \"10:00\"");
  const auto for_field = section.need("for", "a span such as 30min");
  const auto at = at_field ? read_time_of_day(*at_field) : std::nullopt;
  const auto lasts = for_field ? read_span(*for_field, Zero::refused) : std::nullopt;
  if (!at || !lasts) return std::nullopt;
  if (*lasts > kLongestWindow) {
    for_field->fault("at most 12h");
    return std::nullopt;
  }
  return CoolingWindow{*at, *lasts};
}

// Whether `b` opens while `a` is open, over midnight, too.
bool opens_within(const CoolingWindow& a, const CoolingWindow& b) {
  const Span since = (b.at - a.at + hours{24}) % hours{24};
  return since < a.lasts;
}

std::vector<CoolingWindow> read_cooling(const Field& field) {
  std::vector<CoolingWindow> windows;
  std::vector<Field> fields;
  if (field.node.kind == YamlNode::Kind::map) {
    fields.push_back(field);
  } else {
    fields = field.items("a window such as { at: \"10:00\", for: 30min }, or a list of them");
  }
  if (fields.size() > kWindows) {
    field.refuse(field.path + " has " + std::to_string(fields.size()) +
                 " windows; expected at most " + std::to_string(kWindows));
    return windows;
  }
  for (const Field& item : fields) {
    const std::optional<CoolingWindow> window = read_window(item);
    if (!window) continue;
    const bool overlaps =
        std::any_of(windows.begin(), windows.end(), [&](const CoolingWindow& other) {
          return opens_within(other, *window) || opens_within(*window, other);
        });
    if (overlaps) {
      item.refuse(item.path + " overlaps another window; expected windows apart from each other");
      continue;
    }
    windows.push_back(*window);
  }
  return windows;
}

void read_stage_days(const Section& section, const Stage* before, Stage& stage) {
  const auto from_day = section.need("from_day", "the day on which the stage begins");
  const auto days = from_day ? read_days(*from_day) : std::nullopt;
  if (!days) {
    // Stands in, so that the next stage's day is compared with something.
    if (before != nullptr) stage.from = before->from;
    return;
  }
  stage.from = days_to_span(*days);
  if (before == nullptr && stage.from != Span{0}) {
    from_day->fault("0 for the first stage");
  } else if (before != nullptr && stage.from <= before->from) {
    from_day->fault("a day after the one on which the stage before it begins");
  }
}

Stage read_stage(const Field& field, const Stage* before, const RulePatches& site,
                 const RulePatches& profile) {
  Stage stage;
  const Section section(
      field, {"name", "from_day", "target", "turn_every", "cooling", "recovery", "rules"});
  if (!section) return stage;
  if (const auto name = section.need("name", "the stage's name")) {
    stage.name = read_text(*name, "the stage's name", 64).value_or("");
  }
  read_stage_days(section, before, stage);
  if (const auto target = section.need("target", "a temperature such as 37.5")) {
    stage.target = read_temperature(*target).value_or(0);
  }
  if (const auto turn = section.find("turn_every")) {
    if (const auto every = read_span_or_off(*turn)) stage.turn_every = every->span;
  }
  if (const auto cooling = section.find("cooling")) stage.cooling = read_cooling(*cooling);
  if (const auto recovery = section.find("recovery")) {
    stage.recovery = read_span(*recovery, Zero::allowed);
  }
  if (const auto rules = section.find("rules")) {
    stage.rules = read_rules(*rules, Layer::stage, {{&site, &profile}});
  }
  return stage;
}

void read_stages(const Field& field, const RulePatches& site, Profile& profile) {
  const std::vector<Field> items = field.items("a list of stages");
  if (field.node.kind == YamlNode::Kind::list && items.empty()) {
    field.refuse(field.path + " is empty; expected at least one stage");
  }
  if (items.size() > kStages) {
    field.refuse(field.path + " has " + std::to_string(items.size()) +
                 " stages; expected at most " + std::to_string(kStages));
    return;
  }
  for (const Field& item : items) {
    const Stage* before = profile.stages.empty() ? nullptr : &profile.stages.back();
    Stage stage = read_stage(item, before, site, profile.rules);
    const bool named_before = std::any_of(
        profile.stages.begin(), profile.stages.end(),
        [&](const Stage& other) { return !stage.name.empty() && other.name == stage.name; });
    if (named_before) {
      item.refuse(item.path + " has the name of an earlier stage; expected a name of its own");
    }
    profile.stages.push_back(std::move(stage));
  }
}

}  // namespace

Profile read_profile(const std::string& id, const Field& field, const RulePatches& site) {
  Profile profile;
  profile.id = id;
  const Section section(field, {"name", "days", "stages", "recovery", "rules"});
  if (!section) return profile;
  if (const auto name = section.find("name")) {
    profile.name = read_text(*name, "a name", 100).value_or("");
  }
  if (const auto recovery = section.find("recovery")) {
    profile.recovery = read_span(*recovery, Zero::allowed);
  }
  if (const auto rules = section.find("rules")) {
    profile.rules = read_rules(*rules, Layer::profile, {{&site}});
  }
  if (const auto stages = section.need("stages", "a list of stages")) {
    read_stages(*stages, site, profile);
  }
  const auto days_field = section.need("days", "the days from setting to hatching");
  const auto days = days_field ? read_days(*days_field) : std::nullopt;
  if (!days) return profile;
  profile.days = static_cast<double>(*days) / 1e6;
  const Span last = profile.stages.empty() ? Span{0} : profile.stages.back().from;
  if (*days == 0) {
    days_field->fault("a number of days above 0");
  } else if (days_to_span(*days) <= last) {
    days_field->fault("more days than the last stage's from_day");
  }
  return profile;
}

}  // namespace clutchward
