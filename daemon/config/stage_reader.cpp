// Reads stages, alone or over those of another profile.
#include "config/stage_reader.h"

#include <algorithm>
#include <set>

#include "config/cooling_reader.h"
#include "config/rule_reader.h"
#include "config/values.h"

namespace clutchward {
namespace {

// A day of stages each would be 60; no schedule is finer.
constexpr std::size_t kStages = 64;
// Every hour of the day, by hand; nobody turns more often.
constexpr std::size_t kTurnTimes = 24;
// Nothing over 40 C at the egg tops: a game-bird manual.
constexpr Milli kStillMost = 40'000;

const std::vector<std::string> kStageKeys = {"name",         "from_day", "target", "turn_every",
                                             "cooling",      "recovery", "rules",  "begins",
                                             "target_still", "humidity", "turn_at"};

std::optional<HumidityBand> read_band(const Field& field) {
  const Section section(field, {"from", "to"});
  if (!section) return std::nullopt;
  const auto from_field = section.need("from", "percent such as 50");
  const auto to_field = section.need("to", "percent such as 60");
  const auto from = from_field ? read_percent(*from_field, {1'000, 100'000}) : std::nullopt;
  const auto to = to_field ? read_percent(*to_field, {1'000, 100'000}) : std::nullopt;
  if (!from || !to) return std::nullopt;
  if (*from >= *to) {
    to_field->fault("more than from");
    return std::nullopt;
  }
  return HumidityBand{*from, *to};
}

// A span, off, or any.
void read_turn_every(const Field& field, Stage& stage) {
  stage.turn_every.reset();
  stage.turn_at.clear();
  stage.turn_any = field.is_word() && field.node.text == "any";
  if (stage.turn_any || field.is_off()) return;
  const auto span = field.is_word() ? parse_span(field.node.text) : std::optional<Span>();
  if (!span || *span == Span{0} || *span > std::chrono::hours{24 * 366}) {
    field.fault("a span above 0, such as 45min or 1h 30min, off or any");
    return;
  }
  stage.turn_every = span;
}

void read_turn_at(const Field& field, Stage& stage) {
  stage.turn_every.reset();
  stage.turn_any = false;
  stage.turn_at.clear();
  const auto items = field.items("a list of times of day such as [\"07:00\", \"19:00\"]");
  if (field.node.kind == YamlNode::Kind::list && (items.empty() || items.size() > kTurnTimes)) {
    field.refuse(field.path + " has " + std::to_string(items.size()) + " times; expected 1 to " +
                 std::to_string(kTurnTimes));
    return;
  }
  std::set<Span> times;
  for (const Field& item : items) {
    const auto time = read_time_of_day(item);
    if (time && !times.insert(*time).second)
      item.refuse(item.path + " is " + item.found() +
                  ", which stands there already; expected "
                  "each time once");
  }
  stage.turn_at.assign(times.begin(), times.end());
}

void read_turning(const Section& section, Stage& stage) {
  const auto every = section.find("turn_every");
  const auto at = section.find("turn_at");
  if (every && at) {
    section.field().faults.add(section.place("turn_at"),
                               section.field().path +
                                   " has turn_every and turn_at; expected one of them: the machine "
                                   "turns every so often, a person at the hours of the day");
    return;
  }
  if (every) read_turn_every(*every, stage);
  if (at) read_turn_at(*at, stage);
}

void read_begins(const Field& field, Stage& stage) {
  const auto index = read_choice(field, {"by_clock", "moved"});
  if (index) stage.begins = *index == 1 ? Begins::moved : Begins::by_clock;
}

void read_targets(const Section& section, bool alone, Stage& stage) {
  const auto target =
      alone ? section.need("target", "a temperature such as 37.5") : section.find("target");
  if (target) stage.target = read_temperature(*target).value_or(stage.target);
  const auto still_field = section.find("target_still");
  if (!still_field) return;
  const auto still = read_temperature(*still_field);
  if (still && *still > kStillMost)
    still_field->fault("at most 40 C: more at the top of the eggs harms them");
  else if (still)
    stage.target_still = still;
}

// Keys that are given win over what `stage` holds; `alone`: there is nothing below it.
void read_keys(const Section& section, bool alone, const RulePatches& site, const Profile& profile,
               Stage& stage) {
  const auto from_day = alone ? section.need("from_day", "the day on which the stage begins")
                              : section.find("from_day");
  if (const auto days = from_day ? read_days(*from_day) : std::nullopt)
    stage.from = days_to_span(*days);
  else if (alone && !profile.stages.empty())
    // Stands in, so that the next stage's day is compared with something.
    stage.from = profile.stages.back().from;
  read_targets(section, alone, stage);
  read_turning(section, stage);
  if (const auto cooling = section.find("cooling")) stage.cooling = read_cooling(*cooling);
  if (const auto recovery = section.find("recovery"))
    stage.recovery = read_span(*recovery, Zero::allowed);
  if (const auto begins = section.find("begins")) read_begins(*begins, stage);
  if (const auto band = section.find("humidity")) {
    if (band->is_off())
      stage.humidity.reset();
    else
      stage.humidity = read_band(*band);
  }
  if (const auto rules = section.find("rules"))
    lay_over(stage.rules,
             read_rules(*rules, Layer::stage, {{&site, &profile.rules, &stage.rules}}));
}

bool readable(const Field& field) {
  return field.is_word() && !field.node.quoted && parse_decimal(field.node.text) >= 0 &&
         parse_decimal(field.node.text) <= 366'000'000;
}

void check_day(const Section& section, const Stage* before, const Stage& stage) {
  const auto from_day = section.find("from_day");
  // What could not be read has been told.
  if (!from_day || !readable(*from_day)) return;
  if (before == nullptr && stage.from != Span{0})
    from_day->fault("0 for the first stage");
  else if (before != nullptr && stage.from <= before->from)
    from_day->fault("a day after the one on which the stage before it begins");
}

// A stage over the one of the same name, or one more.
void read_over(const Section& section, const RulePatches& site, Profile& profile,
               std::set<std::string>& seen) {
  const auto name_field = section.need("name", "the stage's name");
  const auto name = name_field ? read_text(*name_field, "the stage's name", 64) : std::nullopt;
  if (!name) return;
  if (!seen.insert(*name).second) {
    section.field().refuse(section.field().path +
                           " has the name of an earlier stage; expected a name of its own");
    return;
  }
  const auto at = std::find_if(profile.stages.begin(), profile.stages.end(),
                               [&](const Stage& stage) { return stage.name == *name; });
  if (at != profile.stages.end()) {
    read_keys(section, false, site, profile, *at);
    return;
  }
  Stage stage;
  stage.name = *name;
  read_keys(section, true, site, profile, stage);
  profile.stages.push_back(std::move(stage));
}

// Once all of them are laid over the other profile's.
void put_in_order(const Field& field, Profile& profile) {
  auto& stages = profile.stages;
  std::stable_sort(stages.begin(), stages.end(),
                   [](const Stage& a, const Stage& b) { return a.from < b.from; });
  if (stages.front().from != Span{0})
    field.refuse(field.path + " leaves no stage from day 0; expected the first one there");
  for (std::size_t i = 1; i < stages.size(); ++i)
    if (stages[i].from == stages[i - 1].from)
      field.refuse(field.path + " lets the stages \"" + printable(stages[i - 1].name, 64) +
                   "\" and \"" + printable(stages[i].name, 64) +
                   "\" begin on the same day; expected days of their own");
}

void read_alone(const Section& section, const RulePatches& site, Profile& profile,
                std::set<std::string>& seen) {
  Stage stage;
  if (const auto name = section.need("name", "the stage's name"))
    stage.name = read_text(*name, "the stage's name", 64).value_or("");
  const Stage* before = profile.stages.empty() ? nullptr : &profile.stages.back();
  read_keys(section, true, site, profile, stage);
  check_day(section, before, stage);
  if (!stage.name.empty() && !seen.insert(stage.name).second)
    section.field().refuse(section.field().path +
                           " has the name of an earlier stage; expected a name of its own");
  profile.stages.push_back(std::move(stage));
}

}  // namespace

Span days_to_span(std::int64_t millionths) { return Span{(millionths * 864 + 5) / 10}; }

void read_stages(const Field& field, const RulePatches& site, Profile& profile) {
  const std::vector<Field> items = field.items("a list of stages");
  const bool over = !profile.stages.empty();
  if (field.node.kind == YamlNode::Kind::list && items.empty())
    field.refuse(field.path + " is empty; expected at least one stage");
  if (items.size() > kStages) {
    field.refuse(field.path + " has " + std::to_string(items.size()) +
                 " stages; expected at most " + std::to_string(kStages));
    return;
  }
  std::set<std::string> seen;
  for (const Field& item : items) {
    const Section section(item, kStageKeys);
    if (!section) {
      if (!over) profile.stages.emplace_back();
      continue;
    }
    if (over)
      read_over(section, site, profile, seen);
    else
      read_alone(section, site, profile, seen);
  }
  if (over) put_in_order(field, profile);
  if (!profile.stages.empty() && profile.stages.front().begins == Begins::moved)
    field.refuse(field.path +
                 " begins with a stage that begins when the eggs are moved; expected "
                 "the first stage to begin by_clock");
}

}  // namespace clutchward
