// Engine values to history rows.
#include "app/history_keeper.h"

#include <set>

#include "wire/event_json.h"
#include "wire/record_json.h"

namespace clutchward {
namespace {

using Json = nlohmann::ordered_json;

Json decimal(Milli value) { return static_cast<double>(value) / 1000; }
double days_of(Span span) { return std::chrono::duration<double, std::ratio<86400>>(span).count(); }

Json stage_json(const Stage& stage) {
  Json out;
  out["stage"] = stage.name;
  out["from_day"] = days_of(stage.from);
  out["target"] = decimal(stage.target);
  out["target_still"] = stage.target_still ? decimal(*stage.target_still) : Json();
  out["humidity"] = stage.humidity ? Json{{"from", decimal(stage.humidity->from)},
                                          {"to", decimal(stage.humidity->to)}}
                                   : Json();
  return out;
}

Json cabinet_json(const Settings& settings, const std::string& id) {
  const auto found = settings.cabinets.find(id);
  const CabinetSettings cabinet =
      found == settings.cabinets.end() ? CabinetSettings{} : found->second;
  Json out;
  out["cabinet"] = id;
  out["name"] = cabinet.name.empty() ? id : cabinet.name;
  out["still_air"] = cabinet.machine == MachineType::still;
  out["other_probes"] = Json::array();  // not in the air of the cabinet
  for (const auto& [probe, part] : cabinet.probes)
    if (part != Part::air) out["other_probes"].push_back(probe);
  return out;
}

Json schedule_json(const Engine& engine, const Settings& settings, const BatchRecord& record) {
  Json out;
  out["site"] = settings.site;
  out["timezone"] = settings.timezone;
  out["show"] = settings.show == Show::fahrenheit ? "fahrenheit" : "celsius";
  std::set<std::string> places{record.cabinet};
  for (const Relocation& move : record.moves) places.insert({move.from, move.to});
  out["cabinets"] = Json::array();
  for (const std::string& place : places)
    if (!place.empty()) out["cabinets"].push_back(cabinet_json(settings, place));
  out["stages"] = Json::array();
  const auto profile = engine.profile_of(record.id);
  if (!profile) return out;
  for (const Stage& stage : profile->stages) out["stages"].push_back(stage_json(stage));
  if (profile->hatch)
    out["hatch"] = {{"from_day", profile->hatch->from}, {"to_day", profile->hatch->to}};
  if (const auto& wanted = profile->mass_loss)
    out["mass_loss"] = {{"by_day", wanted->by_day}, {"from", wanted->from}, {"to", wanted->to}};
  return out;
}

}  // namespace

void take_records(const Engine& engine, const Settings& settings,
                  const std::vector<std::string>& batches, HistoryRows& rows) {
  for (const std::string& batch : batches) {
    const auto record = engine.record(batch);
    if (!record) continue;
    const auto text = [](const Json& json) {
      return json.dump(-1, ' ', false, Json::error_handler_t::replace);
    };
    // One that ended keeps the schedule it ran by, whatever the configuration says when it is
    // corrected.
    rows.records.push_back({batch, text(record_json(*record)),
                            text(schedule_json(engine, settings, *record)),
                            record->ended_at.has_value()});
  }
}

bool holds_record(const HistoryFile& file, const BatchRecord& record) {
  std::optional<HistoryRecord> found;
  if (file.record(record.id, found) || !found) return false;
  const auto kept = parse_record(found->json);
  return kept && *kept == record;
}

void add_minutes(std::vector<MinuteMean> minutes, HistoryRows& rows) {
  for (MinuteMean& each : minutes)
    rows.minutes.push_back({each.minute, std::move(each.cabinet), std::move(each.probe),
                            std::string(name_of(each.quantity)), each.low, each.mean, each.high,
                            each.count});
}

void take_history(Engine& engine, bool running_too, HistoryRows& rows) {
  add_minutes(engine.take_minutes(running_too), rows);
}

void note_event(const Engine& engine, const AlarmEvent& event, HistoryRows& rows) {
  auto json = event_json(event);
  if (const auto view = engine.find(event.key)) {
    json["kind"] = name_of(view->kind);
    json["quantity"] = name_of(view->quantity);
    json["priority"] = name_of(view->priority);
    json["latched"] = view->latched;
  }
  rows.events.push_back(
      {event.at, event.key.cabinet, event.key.batch,
       json.dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace)});
}

}  // namespace clutchward
