// Simulated messages into the engine, events out.
#include "run.h"

#include <algorithm>
#include <iostream>

#include "config/load.h"

namespace clutchward::early {

using namespace std::chrono_literals;

Settings shipped(const std::string& root) {
  const Loaded loaded = load_settings_to_look(root + "/config/clutchward.yaml", {});
  for (const Problem& problem : loaded.problems) std::cerr << problem.what << "\n";
  Settings settings = loaded.settings;
  settings.cabinets.clear();
  settings.batches.clear();
  BatchSettings batch;
  batch.id = "b";
  batch.profile = "bench-hen";
  batch.cabinet = "c";
  batch.set_at = kStart - 72h;
  settings.batches = {batch};
  return settings;
}

sim::CabinetSettings cabinet_of(std::uint64_t seed) {
  std::mt19937_64 random(seed * 7919 + 1);
  const auto between = [&](double low, double high) {
    return low + (high - low) * std::uniform_real_distribution<double>()(random);
  };
  sim::CabinetSettings settings;
  settings.seed = seed;
  settings.interval = 30s;
  settings.room_c = between(16, 25);
  settings.room_swing_k = between(0.5, 3);
  settings.resolution_k = seed % 3 == 0 ? 0.1 : 0.01;
  settings.machine.thermostat =
      seed % 4 == 0 ? sim::Thermostat::on_off : sim::Thermostat::proportional;
  return settings;
}

std::optional<Span> Run::past(Milli level, bool below) const {
  const double limit = level / 1000.0;
  for (const auto& [at, celsius] : air)
    if (below ? celsius < limit : celsius > limit) return at;
  return std::nullopt;
}

std::optional<Span> Run::first(const std::vector<std::string>& alarms, Span from) const {
  for (const Told& each : told)
    if (each.at >= from && each.event.kind == EventKind::raised &&
        std::find(alarms.begin(), alarms.end(), each.event.key.alarm) != alarms.end())
      return each.at;
  return std::nullopt;
}

Run play(const Settings& settings, const sim::CabinetSettings& simulated,
         const std::vector<sim::Fault>& faults, Span length) {
  const auto moment = [](Span at) { return Moment{Steady{Span{24h} + at}, kStart + at, true}; };
  Engine engine(settings, Zone(), moment(Span{0}), true);
  engine.begin();
  sim::Cabinet cabinet("c", simulated, faults);
  Run run;
  std::vector<sim::Message> out;
  Span minute{};
  while (cabinet.next() <= length) {
    out.clear();
    const Span at = cabinet.next();
    cabinet.step(out);
    for (const sim::Message& message : out)
      engine.message(message.topic, message.payload, false, moment(at));
    for (AlarmEvent& event : engine.take_events())
      run.told.push_back({event.at - kStart, std::move(event)});
    if (at >= minute) {
      run.air.emplace_back(at, cabinet.state().air_c);
      minute = at + 1min;
    }
    if (out.empty()) continue;
    // What would be stored and shown is let go.
    engine.take_changes();
    engine.take_dirty_cabinets();
  }
  engine.settle(moment(length));
  for (AlarmEvent& event : engine.take_events())
    run.told.push_back({event.at - kStart, std::move(event)});
  return run;
}

}  // namespace clutchward::early
