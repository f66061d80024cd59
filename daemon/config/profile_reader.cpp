// Reads profiles: their days, dates and rules; stages are read beside it.
#include "config/profile_reader.h"

#include <cmath>
#include <optional>

#include "base/text.h"
#include "config/rule_reader.h"
#include "config/stage_reader.h"
#include "config/values.h"

namespace clutchward {
namespace {

// Nobody opens a machine more often to look.
constexpr std::size_t kCandlings = 32;

const std::vector<std::string> kProfileKeys = {
    "name",   "days", "stages",   "recovery",     "rules",     "based_on", "earliest",
    "latest", "pip",  "candling", "transfer_day", "mass_loss", "still"};

std::string text_of(double days) { return milli_exact(std::llround(days * 1000)); }

std::optional<double> days_of(const std::optional<Field>& field) {
  const auto millionths = field ? read_days(*field) : std::nullopt;
  return millionths ? std::optional(static_cast<double>(*millionths) / 1e6) : std::nullopt;
}

void read_hatch(const Section& section, Profile& profile) {
  const auto earliest = section.find("earliest");
  const auto latest = section.find("latest");
  if (!earliest && !latest) return;
  if (!profile.hatch && !(earliest && latest)) {
    const auto& alone = earliest ? earliest : latest;
    alone->refuse(alone->path +
                  " stands alone; expected earliest and latest, the days between "
                  "which chicks come");
    days_of(alone);
    return;
  }
  DayWindow window = profile.hatch.value_or(DayWindow{});
  const auto from = earliest ? days_of(earliest) : window.from;
  const auto to = latest ? days_of(latest) : window.to;
  if (!from || !to) return;
  if (*from > *to) {
    (latest ? latest : earliest)->fault("earliest not after latest");
    return;
  }
  profile.hatch = DayWindow{*from, *to};
}

// { from: 20, to: 21 }, both ends included.
std::optional<DayWindow> read_window(const Field& field, const std::string& what) {
  const Section section(field, {"from", "to"});
  if (!section) return std::nullopt;
  const auto from_field = section.need("from", "the day on which " + what + " begins");
  const auto to_field = section.need("to", "the day on which " + what + " ends");
  const auto from = days_of(from_field);
  const auto to = days_of(to_field);
  if (!from || !to) return std::nullopt;
  if (*from > *to) {
    to_field->fault("a day not before from");
    return std::nullopt;
  }
  return DayWindow{*from, *to};
}

// A list of days, or off.
void read_candling(const Field& field, Profile& profile) {
  profile.candling.clear();
  if (field.is_off()) return;
  const auto items = field.items("a list of days such as [7, 14], or off");
  if (items.size() > kCandlings) {
    field.refuse(field.path + " has " + std::to_string(items.size()) + " days; expected at most " +
                 std::to_string(kCandlings));
    return;
  }
  for (const Field& item : items) {
    const auto day = days_of(item);
    if (!day) continue;
    if (!profile.candling.empty() && *day <= profile.candling.back())
      item.fault("a day after the one before it");
    else
      profile.candling.push_back(*day);
  }
}

std::optional<double> read_loss(const std::optional<Field>& field) {
  const auto percent = field ? read_percent(*field, {1'000, 50'000}) : std::nullopt;
  return percent ? std::optional(*percent / 1000.0) : std::nullopt;
}

std::optional<MassLossWanted> read_mass_loss(const Field& field) {
  const Section section(field, {"by_day", "from", "to"});
  if (!section) return std::nullopt;
  const auto day_field = section.need("by_day", "the day by which it is to be lost");
  const auto from_field = section.need("from", "percent of the mass at setting, such as 11");
  const auto to_field = section.need("to", "percent of the mass at setting, such as 13");
  const auto day = days_of(day_field);
  const auto from = read_loss(from_field);
  const auto to = read_loss(to_field);
  if (!day || !from || !to) return std::nullopt;
  if (*day == 0) {
    day_field->fault("a day above 0");
    return std::nullopt;
  }
  if (*from > *to) {
    to_field->fault("not less than from");
    return std::nullopt;
  }
  return MassLossWanted{*day, *from, *to};
}

void read_dates(const Section& section, Profile& profile) {
  read_hatch(section, profile);
  if (const auto pip = section.find("pip")) {
    if (pip->is_off())
      profile.pip.reset();
    else
      profile.pip = read_window(*pip, "pipping");
  }
  if (const auto candling = section.find("candling")) read_candling(*candling, profile);
  if (const auto transfer = section.find("transfer_day")) {
    if (transfer->is_off())
      profile.transfer_day.reset();
    else
      profile.transfer_day = days_of(transfer);
  }
  if (const auto loss = section.find("mass_loss")) {
    if (loss->is_off())
      profile.mass_loss.reset();
    else
      profile.mass_loss = read_mass_loss(*loss);
  }
}

// What must fit together once everything is laid over everything. Each fault stands at the key that
// this file gives, or at the whole where the other profile's days no longer fit.
void check_days(const Section& section, const Profile& profile) {
  if (profile.days <= 0) return;
  const auto refuse = [&](const char* key, const std::string& what) {
    const auto given = section.find(key);
    if (given)
      given->refuse(given->path + what);
    else
      section.field().refuse(section.path(key) + " of \"" + printable(profile.based_on, 64) + "\"" +
                             what);
  };
  const std::string days = text_of(profile.days);
  if (profile.hatch && (profile.hatch->from > profile.days || profile.hatch->to < profile.days))
    refuse(section.has("earliest") ? "earliest" : "latest",
           " lets chicks come from day " + text_of(profile.hatch->from) + " to " +
               text_of(profile.hatch->to) + "; expected days, " + days + ", to lie between");
  const double last = profile.hatch ? profile.hatch->to : profile.days;
  if (profile.pip && profile.pip->to > last)
    refuse("pip", " ends on day " + text_of(profile.pip->to) + "; expected at most " +
                      text_of(last) + ", when the last chicks come");
  if (!profile.candling.empty() && profile.candling.back() >= profile.days)
    refuse("candling", " has day " + text_of(profile.candling.back()) +
                           "; expected days before the hatch on day " + days);
  if (profile.transfer_day && *profile.transfer_day >= profile.days)
    refuse("transfer_day", " is " + text_of(*profile.transfer_day) +
                               "; expected a day before the hatch on day " + days);
  if (profile.mass_loss && profile.mass_loss->by_day > profile.days)
    refuse("mass_loss", " is counted to day " + text_of(profile.mass_loss->by_day) +
                            "; expected at most the hatch on day " + days);
}

void read_still(const Field& field, const RulePatches& site, Profile& profile) {
  const Section section(field, {"rules"});
  if (!section) return;
  const auto rules = section.need("rules", "the rules of a still-air machine");
  if (!rules) return;
  std::vector<LayersBelow> below = {{&site, &profile.rules, &profile.still_rules}};
  for (const Stage& stage : profile.stages)
    below.push_back({&site, &profile.rules, &stage.rules, &profile.still_rules});
  lay_over(profile.still_rules, read_rules(*rules, Layer::profile, below));
}

void read_days_key(const Section& section, bool alone, Profile& profile) {
  const auto days_field =
      alone ? section.need("days", "the days from setting to hatching") : section.find("days");
  const auto millionths = days_field ? read_days(*days_field) : std::nullopt;
  if (days_field && !millionths) {
    profile.days = 0;
    return;
  }
  if (millionths) profile.days = static_cast<double>(*millionths) / 1e6;
  const Span last = profile.stages.empty() ? Span{0} : profile.stages.back().from;
  const Span days = days_to_span(std::llround(profile.days * 1e6));
  if (days_field && days == Span{0}) {
    days_field->fault("a number of days above 0");
  } else if (days <= last && profile.days > 0) {
    if (days_field)
      days_field->fault("more days than the last stage's from_day");
    else
      section.field().refuse(section.path("stages") + " goes past the " + text_of(profile.days) +
                             " days of \"" + printable(profile.based_on, 64) +
                             "\"; expected days as well");
  }
}

}  // namespace

Profile read_profile(const std::string& id, const Field& field, const RulePatches& site,
                     const Profile* base) {
  Profile profile = base != nullptr ? *base : Profile{};
  profile.id = id;
  profile.based_on = base != nullptr ? base->id : "";
  const Section section(field, kProfileKeys);
  if (!section) return profile;
  if (const auto name = section.find("name")) {
    profile.name = read_text(*name, "a name", 100).value_or("");
  }
  if (const auto recovery = section.find("recovery")) {
    profile.recovery = read_span(*recovery, Zero::allowed);
  }
  if (const auto rules = section.find("rules")) {
    lay_over(profile.rules, read_rules(*rules, Layer::profile, {{&site, &profile.rules}}));
  }
  const bool alone = base == nullptr;
  const auto stages = alone ? section.need("stages", "a list of stages") : section.find("stages");
  if (stages) read_stages(*stages, site, profile);
  read_days_key(section, alone, profile);
  read_dates(section, profile);
  if (const auto still = section.find("still")) read_still(*still, site, profile);
  check_days(section, profile);
  return profile;
}

}  // namespace clutchward
