// The picture with the kinds of its alarms.
#include "web/cabinet_json.h"

#include "web/watch_json.h"
#include "wire/picture_json.h"

namespace clutchward {

void add_kinds(nlohmann::ordered_json& alarms, const std::vector<AlarmView>& views) {
  for (std::size_t i = 0; i < views.size(); ++i) {
    alarms[i]["kind"] = name_of(views[i].kind);
    alarms[i]["quantity"] = name_of(views[i].quantity);
  }
}

std::string cabinet_json(const CabinetView& cabinet) {
  auto out = picture(cabinet);
  add_kinds(out["alarms"], cabinet.alarms);
  return out.dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace);
}

}  // namespace clutchward
