// The templates as read, by their place.
#include "web/templates.h"

#include <map>
#include <utility>

#include "base/check.h"
#include "web/cabinet_page.h"
#include "web/curve_page.h"
#include "web/page.h"

namespace clutchward {
namespace {

using kainjow::mustache::mustache;

// The library would read a partial anew at each place that names it, once for each cabinet.
std::string_view shared_part(std::string_view name) {
  const std::pair<std::string_view, std::string_view> parts[] = {
      {"alarm", kAlarmPartial},      {"card", kCardPartial},        {"coming", kComingPartial},
      {"curve", kCurvePartial},      {"deeds", kDeedsPartial},      {"forms", kFormsPartial},
      {"form_top", kFormTopPartial}, {"happened", kHappenedPartial}};
  for (const auto& [known, text] : parts)
    if (known == name) return text;
  return {};
}

std::string with_parts(std::string_view text) {
  constexpr std::string_view kOpen = "{{>";
  std::string out;
  for (;;) {
    const std::size_t at = text.find(kOpen);
    out += text.substr(0, at);
    if (at == std::string_view::npos) return out;
    const std::size_t end = text.find("}}", at);
    CHECK(end != std::string_view::npos);
    const auto part = shared_part(text.substr(at + kOpen.size(), end - at - kOpen.size()));
    CHECK(!part.empty());
    out += with_parts(part);
    text.remove_prefix(end + 2);
  }
}

}  // namespace

std::string fill_page(std::string_view top, std::string_view body, std::string_view bottom,
                      const kainjow::mustache::data& data) {
  // Constants of the program, only in another form: whoever reads one first pays for it.
  static std::map<const char*, mustache> read;
  auto found = read.find(body.data());
  if (found == read.end()) {
    std::string whole(top);
    whole += with_parts(body);
    whole += bottom;
    found = read.emplace(body.data(), mustache(whole)).first;
    CHECK(found->second.is_valid());
  }
  return found->second.render(data);
}

}  // namespace clutchward
