// From the document's °C to the units that the site's people read. Says what is a temperature: one
// table, for page, CSV and comparison alike.
#include <array>
#include <cstdio>

#include "report/report.h"

namespace clutchward {
namespace {

struct Place {
  std::string_view part;
  std::string_view key;
  Degrees degrees;
};

constexpr Place kPlaces[] = {
    {"stages", "target", Degrees::absolute},
    {"temperature", "min", Degrees::absolute},
    {"temperature", "mean", Degrees::absolute},
    {"temperature", "max", Degrees::absolute},
    {"temperature_summary", "mean", Degrees::absolute},
    {"temperature_summary", "coldest", Degrees::absolute},
    {"temperature_summary", "hottest", Degrees::absolute},
    {"steps", "by", Degrees::difference},
    {"steps", "degree_hours", Degrees::difference},
    {"excursions", "farthest", Degrees::difference},
    {"excursions", "step", Degrees::difference},
    {"excursions", "degree_hours", Degrees::difference},
    {"cold_spells", "coldest_air", Degrees::absolute},
    {"cold_spells", "coldest_egg", Degrees::absolute},
    {"airings", "lowest", Degrees::absolute},
    {"hatch_shift", "mean_deviation", Degrees::difference},
    {"", "mean_temperature", Degrees::absolute},
};

void convert(Json& value, Degrees degrees) {
  if (degrees != Degrees::none && value.is_number())
    value = rounded(in_shown(value.get<double>(), degrees));
}

void convert_object(Json& object, std::string_view part) {
  for (auto& [key, value] : object.items()) convert(value, degrees_of(part, key));
}

// An alarm's figures are of its own quantity.
void convert_alarm(Json& alarm) {
  const std::string quantity = alarm["quantity"].is_string() ? alarm["quantity"] : Json("");
  const bool degrees = quantity == "temperature" || quantity == "wet_bulb" || quantity == "egg" ||
                       quantity == "dew_point";
  const bool compares = alarm["kind"] == "above" || alarm["kind"] == "below" ||
                        alarm["kind"] == "rate" || alarm["kind"] == "trend";
  if (degrees && compares)
    for (const char* key : {"value", "limit"}) convert(alarm[key], Degrees::absolute);
  if (degrees && alarm["kind"] == "spread")
    for (const char* key : {"value", "limit"}) convert(alarm[key], Degrees::difference);
}

}  // namespace

bool in_fahrenheit(const Json& report) { return report.value("show", "") == "fahrenheit"; }

Degrees degrees_of(std::string_view part, std::string_view key) {
  for (const Place& each : kPlaces)
    if (each.part == part && each.key == key) return each.degrees;
  return Degrees::none;
}

double in_shown(double celsius, Degrees degrees) {
  if (degrees == Degrees::none) return celsius;
  return celsius * 1.8 + (degrees == Degrees::absolute ? 32 : 0);
}

Json as_shown(const Json& report) {
  Json shown = report;
  if (!in_fahrenheit(report)) return shown;
  for (auto& [part, value] : shown.items()) {
    if (value.is_object()) convert_object(value, part);
    if (!value.is_array()) continue;
    for (Json& row : value)
      if (row.is_object() && part == "alarms")
        convert_alarm(row);
      else if (row.is_object())
        convert_object(row, part);
  }
  add_glance(shown);
  return shown;
}

std::string number_text(double value) {
  std::array<char, 40> buffer{};
  std::snprintf(buffer.data(), buffer.size(), "%.2f", value);
  std::string text = buffer.data();
  while (text.ends_with('0')) text.pop_back();
  if (text.ends_with('.')) text.pop_back();
  return text == "-0" ? "0" : text;
}

}  // namespace clutchward
