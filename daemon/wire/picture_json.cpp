// The picture of a cabinet, written only.
#include "wire/picture_json.h"

#include <cmath>

#include "alarm/trend.h"
#include "wire/record_json.h"

namespace clutchward {
namespace {

using Json = nlohmann::ordered_json;

Json number(std::optional<Milli> value) {
  return value ? Json(static_cast<double>(*value) / 1000) : Json();
}
Json time(std::optional<Wall> value) { return value ? Json(to_rfc3339(*value)) : Json(); }
Json text(const std::string& value) { return value.empty() ? Json() : Json(value); }
// Days are for people: to the hundredth.
Json days(double value) { return std::round(value * 100) / 100; }

const char* word(Part part) {
  switch (part) {
    case Part::air:
      return "air";
    case Part::egg:
      return "egg";
    case Part::room:
      return "room";
    case Part::ignore:
      break;
  }
  return "ignore";
}

Json alarm_json(const AlarmView& alarm) {
  Json out;
  out["alarm"] = alarm.key.alarm;
  out["batch"] = text(alarm.key.batch);
  out["kind"] = name_of(alarm.kind);
  out["quantity"] = name_of(alarm.quantity);
  if (!alarm.signal.empty()) out["signal"] = alarm.signal;
  out["state"] = name_of(alarm.state);
  out["priority"] = name_of(alarm.priority);
  if (alarm.state == AlarmState::normal) return out;
  out["active"] = alarm.active;
  out["acknowledged"] = alarm.acknowledged;
  out["latched"] = alarm.latched;
  out["snoozed_until"] = time(alarm.snoozed_until);
  if (!alarm.suppressed_for.empty()) out["suppressed_for"] = alarm.suppressed_for;
  out["value"] = number(alarm.value);
  out["limit"] = number(alarm.limit);
  out["worst"] = number(alarm.worst);
  out["since"] = time(alarm.since);
  out["raised_at"] = time(alarm.raised_at);
  out["returned_at"] = time(alarm.returned_at);
  out["acknowledged_by"] = text(alarm.acknowledged_by);
  out["acknowledged_at"] = time(alarm.acknowledged_at);
  out["snoozed_by"] = text(alarm.snoozed_by);
  out["rings_again_at"] = time(alarm.rings_again_at);
  out["episode"] = text(alarm.episode);
  out["no_data"] = alarm.no_data;
  if (!alarm.says.empty()) out["says"] = alarm.says;
  if (!alarm.part_of.empty()) out["part_of"] = alarm.part_of;
  if (alarm.harm_at) {
    out["harm"] = number(alarm.harm);
    out["harm_at"] = time(alarm.harm_at);
    out["harm_from"] = time(alarm.harm_from);
    out["harm_until"] = time(alarm.harm_until);
  }
  if (alarm.out_of_service_until) {
    out["out_of_service_until"] = time(alarm.out_of_service_until);
    out["out_of_service_by"] = text(alarm.out_of_service_by);
    out["reason"] = text(alarm.out_of_service_why);
  }
  return out;
}

Json batch_json(const BatchView& batch) {
  Json out;
  out["batch"] = batch.id;
  out["profile"] = batch.profile;
  out["name"] = batch.name;
  out["set_at"] = to_rfc3339(batch.set_at);
  out["set"] = batch.set;
  out["day"] = batch.set ? days(batch.day) : Json();
  out["days"] = batch.days;
  out["stage"] = text(batch.stage);
  out["target"] = number(batch.target);
  out["eggs"] = batch.eggs > 0 ? Json(batch.eggs) : Json();
  out["turning_due"] = batch.turning_due;
  out["cooling"] = batch.cooling;
  out["phase"] = name_of(batch.phase);
  out["eggs_left"] = batch.eggs > 0 ? Json(batch.eggs_left) : Json();
  out["next"] = batch.next ? date_json(*batch.next) : Json();
  return out;
}

Json probe_json(const ProbeView& probe) {
  Json out;
  out["probe"] = probe.probe;
  out["quantity"] = name_of(probe.quantity);
  out["part"] = word(probe.part);
  out["value"] = number(probe.value);
  out["at"] = time(probe.at);
  out["fresh"] = probe.fresh;
  if (!probe.fault.empty()) out["fault"] = probe.fault;
  if (probe.left_out) out["left_out"] = true;
  return out;
}

}  // namespace

Json picture(const CabinetView& cabinet) {
  Json out;
  out["cabinet"] = cabinet.id;
  out["name"] = cabinet.name;
  out["temperature"] = number(cabinet.temperature);
  out["hottest"] = number(cabinet.hottest);
  out["coldest"] = number(cabinet.coldest);
  out["trend"] = name_of(cabinet.trend);
  out["humidity"] = number(cabinet.humidity);
  out["wet_bulb"] = number(cabinet.wet_bulb);
  out["dew_point"] = number(cabinet.dew_point);
  out["last_reading"] = time(cabinet.last_reading);
  out["no_data"] = cabinet.no_data;
  out["last_turn"] = time(cabinet.last_turn);
  out["power"] = cabinet.power ? Json(*cabinet.power) : Json();
  out["cooling"] = cabinet.cooling;
  out["attending_until"] = time(cabinet.attending_until);
  out["attending_by"] = text(cabinet.attending_by);
  out["batches"] = Json::array();
  for (const BatchView& batch : cabinet.batches) out["batches"].push_back(batch_json(batch));
  out["alarms"] = Json::array();
  for (const AlarmView& alarm : cabinet.alarms) out["alarms"].push_back(alarm_json(alarm));
  out["probes"] = Json::array();
  for (const ProbeView& probe : cabinet.probes) out["probes"].push_back(probe_json(probe));
  if (!cabinet.where.empty()) out["where"] = cabinet.where;
  if (!cabinet.first_aid.empty()) out["first_aid"] = cabinet.first_aid;
  return out;
}

std::string to_json(const CabinetView& cabinet) {
  return picture(cabinet).dump(-1, ' ', false, Json::error_handler_t::replace);
}

}  // namespace clutchward
