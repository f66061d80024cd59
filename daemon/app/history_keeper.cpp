// Engine values to history rows.
#include "app/history_keeper.h"

#include "wire/event_json.h"

namespace clutchward {

void take_history(Engine& engine, bool running_too, HistoryRows& rows) {
  for (MinuteMean& each : engine.take_minutes(running_too))
    rows.minutes.push_back({each.minute, std::move(each.cabinet), std::move(each.probe),
                            std::string(name_of(each.quantity)), each.low, each.mean, each.high,
                            each.count});
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
