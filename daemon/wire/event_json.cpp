// The JSON of one alarm event. The order of the keys is part of what people read, so the ordered
// form is used; it refuses nothing, since an event was checked where it was made.
#include "wire/event_json.h"

namespace clutchward {
namespace {

using Json = nlohmann::ordered_json;

Json number(const std::optional<Milli>& value) {
  if (!value) return nullptr;
  // The double nearest to a decimal of three places prints as that decimal again.
  return static_cast<double>(*value) / 1000.0;
}

Json text(const std::string& value) {
  if (value.empty()) return nullptr;
  return value;
}

}  // namespace

Json event_json(const AlarmEvent& event) {
  Json json = Json::object();
  json["at"] = to_rfc3339(event.at);
  json["cabinet"] = text(event.key.cabinet);
  json["batch"] = text(event.key.batch);
  json["alarm"] = event.key.alarm;
  json["event"] = name_of(event.kind);
  json["value"] = number(event.value);
  json["limit"] = number(event.limit);
  json["worst"] = number(event.worst);
  json["by"] = event.by ? Json(*event.by) : Json(nullptr);
  if (!event.unit.empty()) json["unit"] = event.unit;
  return json;
}

std::string to_json(const AlarmEvent& event) {
  return event_json(event).dump(-1, ' ', false, Json::error_handler_t::replace);
}

}  // namespace clutchward
