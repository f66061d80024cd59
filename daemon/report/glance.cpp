// The head of the report: a few figures taken from the rest of the document, none of their own.
#include <algorithm>
#include <array>
#include <cstdio>

#include "report/report.h"

namespace clutchward {
namespace {

std::string with_unit(double value, const char* unit) {
  std::array<char, 40> buffer{};
  std::snprintf(buffer.data(), buffer.size(), "%.1f %s", value, unit);
  return buffer.data();
}

std::string of(const Json& part, const Json& whole) { return part.dump() + " of " + whole.dump(); }

void add(Json& to, const char* what, std::string figure, std::string of = "") {
  to.push_back({{"what", what}, {"figure", std::move(figure)}, {"of", std::move(of)}});
}

// Eggs that nobody accounted for may have been fertile: what they leave open is a bound.
void add_hatch(const Json& hatch, Json& to) {
  if (!hatch.contains("set")) return;
  const bool open = hatch["unaccounted"] > 0;
  const std::string beside =
      open ? "; " + hatch["unaccounted"].dump() + " not accounted for" : std::string();
  if (hatch["hatch_of_fertile_percent"].is_number())
    add(to, "Hatch of fertile",
        (open ? "at most " : "") + with_unit(hatch["hatch_of_fertile_percent"], "%"),
        of(hatch["hatched"], hatch["fertile"]) + beside);
  add(to, "Hatch of set", with_unit(hatch["hatch_of_set_percent"], "%"),
      of(hatch["hatched"], hatch["set"]));
  add(to, "Fertility", (open ? "at least " : "") + with_unit(hatch["fertility_percent"], "%"),
      of(hatch["fertile"], hatch["set"]) + beside);
}

// The narrowest step of each side holds the hours of all the others.
void add_hours(const Json& steps, const char* unit, Json& to) {
  for (const char* side : {"above", "below"})
    for (const Json& each : steps)
      if (each["side"] == side) {
        add(to, std::string(side) == "above" ? "Too warm" : "Too cool",
            with_unit(each["hours"], "h"),
            "more than " + number_text(each["by"]) + " " + unit + " " + side);
        break;
      }
}

void add_alarms(const Json& alarms, Json& to) {
  std::size_t high = 0;
  std::size_t unanswered = 0;
  for (const Json& each : alarms) {
    if (each["priority"] == "high") ++high;
    if (each["answered"].is_null()) ++unanswered;
  }
  add(to, "Alarms", std::to_string(alarms.size()),
      std::to_string(high) + " high, " + std::to_string(unanswered) + " unanswered");
}

}  // namespace

void add_glance(Json& out) {
  Json& to = out["glance"] = Json::array();
  add_hatch(out["hatch"], to);
  if (const Json& mass = out["mass"]; mass.contains("lost_percent"))
    add(to, "Mass lost", with_unit(mass["lost_percent"], "%"),
        "the line asks for " + with_unit(mass["line_percent"], "%"));
  add_hours(out["steps"], in_fahrenheit(out) ? "°F" : "°C", to);
  add_alarms(out["alarms"], to);
}

}  // namespace clutchward
