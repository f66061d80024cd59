// The report as one page: the document's values poured into a template that escapes them.
#include <array>
#include <cstdio>

#include "report.h"
#include "report_page.h"
#include "web/html.h"

namespace clutchward {
namespace {

std::string number_text(double value) {
  std::array<char, 40> buffer{};
  std::snprintf(buffer.data(), buffer.size(), "%.2f", value);
  std::string text = buffer.data();
  while (text.ends_with('0')) text.pop_back();
  if (text.ends_with('.')) text.pop_back();
  return text == "-0" ? "0" : text;
}

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

}  // namespace

std::string report_html(const Json& report, const Zone& zone) {
  HtmlData data = Pour(zone).object(report);
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
