// The report as one page: the document's values poured into a template that escapes them.
#include <array>
#include <cstdio>
#include <map>

#include "markup/fill.h"
#include "report/page_text.h"
#include "report/report.h"

namespace clutchward {
namespace {

std::string local_text(Wall at, const Zone& zone) {
  const auto local = zone.to_local(at);
  const auto day = std::chrono::floor<std::chrono::days>(local);
  const std::chrono::year_month_day date{day};
  const auto minutes = std::chrono::floor<std::chrono::minutes>(local - day).count();
  std::array<char, 64> buffer{};
  std::snprintf(buffer.data(), buffer.size(), "%04d-%02u-%02u %02d:%02d",
                static_cast<int>(date.year()), static_cast<unsigned>(date.month()),
                static_cast<unsigned>(date.day()), static_cast<int>(minutes / 60),
                static_cast<int>(minutes % 60));
  return buffer.data();
}

std::string fates_text(const Json& fates) {
  std::string out;
  for (const auto& [fate, eggs] : fates.items()) {
    std::string word = fate;
    for (char& c : word)
      if (c == '_') c = ' ';
    out += (out.empty() ? "" : ", ") + eggs.dump() + " " + word;
  }
  return out.empty() ? "none" : out;
}

class Pour {
 public:
  explicit Pour(const Zone& zone) : zone_(zone) {}

  HtmlData object(const Json& object) const {
    HtmlData out{HtmlData::type::object};
    for (const auto& [key, value] : object.items()) {
      // The curves are drawn, not listed; but whether there are any is asked.
      if (key == "temperature" || key == "humidity") continue;
      set(out, key, value);
    }
    return out;
  }

 private:
  void set(HtmlData& out, const std::string& key, const Json& value) const {
    if (value.is_array()) return put_list(out, key, list(value));
    if (key == "removed") return put(out, key, fates_text(value));
    if (value.is_object()) return out.set(key, object(value));
    if (value.is_boolean()) return out.set(key, value.get<bool>());
    put(out, key, text(value));
  }
  std::string text(const Json& value) const {
    if (value.is_number()) return number_text(value.get<double>());
    if (!value.is_string()) return {};
    const auto raw = value.get<std::string>();
    const bool time = raw.size() == 24 && raw.ends_with('Z');
    const auto at = time ? parse_rfc3339(raw) : std::nullopt;
    return at ? local_text(*at, zone_) : raw;
  }
  HtmlList list(const Json& array) const {
    HtmlList out;
    for (const Json& each : array)
      out.push_back(each.is_object() ? object(each) : line(text(each)));
    return out;
  }

  const Zone& zone_;
};

}  // namespace

namespace {

// About half a page of A4.
constexpr std::size_t kRowsTogether = 24;

// People know them by their names.
void name_cabinets(Json& report) {
  std::map<std::string, std::string> names;
  for (Json& each : report["cabinets"]) {
    names[each["cabinet"]] = each.value("name", "");
    if (!each.value("name", "").empty()) each["cabinet"] = each["name"];
  }
  const auto rename = [&](Json& row, const char* key) {
    if (!row[key].is_string()) return;
    const auto found = names.find(row[key].get<std::string>());
    if (found != names.end() && !found->second.empty()) row[key] = found->second;
  };
  for (Json& each : report["alarms"]) rename(each, "cabinet");
  for (Json& each : report["moves"])
    for (const char* key : {"from", "to"}) rename(each, key);
}

// The built-in ladder's first rungs and the bound of cold, as the page names them.
void put_units(bool fahrenheit, HtmlData& data) {
  const auto shown = [&](double celsius, Degrees degrees) {
    return number_text(fahrenheit ? in_shown(celsius, degrees) : celsius);
  };
  put(data, "unit", fahrenheit ? "°F" : "°C");
  put(data, "band_below", shown(kStepsBelow[0], Degrees::difference));
  put(data, "band_above", shown(kStepsAbove[0], Degrees::difference));
  put(data, "cold", shown(35, Degrees::absolute));
}

// What people did with the batch, from its record, in the order of time.
HtmlList deeds_of(const Json& report, const Zone& zone) {
  std::multimap<std::string, std::string> all;  // RFC 3339 sorts
  const auto add = [&](const Json& at, const std::string& what, const Json& by) {
    if (!at.is_string()) return;
    all.emplace(at.get<std::string>(),
                what + (by.is_string() ? ", by " + by.get<std::string>() : std::string()));
  };
  add(report["set_at"], "set", Json());
  for (const Json& each : report["candlings"])
    add(each["at"], "candled, removed: " + fates_text(each["removed"]), each["by"]);
  for (const Json& each : report["weighed"])
    add(each["at"],
        "weighed, " + each["eggs"].dump() + " eggs, " + number_text(each["grams"]) + " g",
        each["by"]);
  for (const Json& each : report["moves"])
    add(each["at"],
        "moved from " + each.value("from", Json("?")).get<std::string>() + " to " +
            each.value("to", Json("?")).get<std::string>(),
        each["by"]);
  add(report["ended_at"], "ended", report["ended_by"]);
  HtmlList lines;
  for (const auto& [at, what] : all) {
    const auto time = parse_rfc3339(at);
    lines.push_back(line((time ? local_text(*time, zone) : at) + ": " + what));
  }
  return lines;
}

}  // namespace

std::string report_html(const Json& document, const Zone& zone) {
  Json report = as_shown(document);
  name_cabinets(report);
  HtmlData data = Pour(zone).object(report);
  put_units(in_fahrenheit(report), data);
  put_list(data, "deeds", deeds_of(report, zone));
  data.set("temperature_curve", report_curve(report, "temperature"));
  data.set("humidity_curve", report_curve(report, "humidity"));
  // A table that fits a page stays whole on paper; a longer one may break between its rows.
  for (const char* part : {"excursions", "alarms", "turning", "airings"})
    data.set(std::string(part) + "_long", report[part].size() > kRowsTogether);
  data.set("has_temperature", !report["temperature"].empty());
  data.set("has_humidity", !report["humidity"].empty());
  return fill(kReportPage, data);
}

}  // namespace clutchward
