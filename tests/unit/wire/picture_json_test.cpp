// Pictures of a cabinet as JSON, compared whole.
#include "wire/picture_json.h"

#include <gtest/gtest.h>

#include <chrono>

namespace clutchward {
namespace {

using namespace std::chrono_literals;

constexpr Wall kNine{1772355600000ms};  // 2026-03-01T09:00:00Z

CabinetView cabinet() {
  CabinetView view;
  view.id = "setter-a";
  view.name = "Setter A";
  view.no_data = false;
  view.hottest = 39'800;
  view.coldest = 37'500;
  view.humidity = 52'000;
  view.last_reading = kNine;
  view.trend = Trend::rising;
  BatchView batch;
  batch.id = "hens-12";
  batch.profile = "bench-hen";
  batch.name = "Domestic hen";
  batch.set_at = kNine - 24h;
  batch.set = true;
  batch.day = 1.0049;
  batch.days = 21;
  batch.stage = "setting";
  batch.target = 37'500;
  batch.eggs = 48;
  batch.phase = Phase::set;
  batch.eggs_left = 45;
  batch.next = BatchDate{TaskKind::candle, 1, kNine, kNine, "Candle: day 7", false};
  view.batches.push_back(batch);
  AlarmView high;
  high.key = {"setter-a", "hens-12", "high"};
  high.priority = Priority::high;
  high.state = AlarmState::unacknowledged;
  high.active = true;
  high.latched = true;
  high.value = 39'800;
  high.limit = 39'500;
  high.worst = 39'800;
  high.since = kNine;
  high.raised_at = kNine;
  high.episode = "high-1";
  AlarmView warm;
  warm.key = {"setter-a", "hens-12", "warm"};
  view.alarms = {high, warm};
  view.probes.push_back({"top", Quantity::temperature, Part::air, 39'800, kNine, true});
  view.probes.push_back({"hall", Quantity::temperature, Part::room, 15'000, std::nullopt, false});
  return view;
}

TEST(PictureJson, TheWholePicture) {
  EXPECT_EQ(
      to_json(cabinet()),
      R"({"cabinet":"setter-a","name":"Setter A","temperature":null,"hottest":39.8,"coldest":37.5,)"
      R"("trend":"rising","humidity":52.0,"wet_bulb":null,"dew_point":null,"last_reading":"2026-03-01T09:00:00.000Z","no_data":false,)"
      R"("last_turn":null,"power":null,"cooling":false,"attending_until":null,"attending_by":null,)"
      R"("batches":[{"batch":"hens-12","profile":"bench-hen","name":"Domestic hen",)"
      R"("set_at":"2026-02-28T09:00:00.000Z","set":true,"day":1.0,"days":21.0,"stage":"setting",)"
      R"("target":37.5,"eggs":48,"turning_due":false,"cooling":false,)"
      R"("phase":"set","eggs_left":45,"next":{"task":"candle","number":1,)"
      R"("from":"2026-03-01T09:00:00.000Z","to":"2026-03-01T09:00:00.000Z",)"
      R"("what":"Candle: day 7","done":false,"recorded":false}}],)"
      R"("alarms":[{"alarm":"high","batch":"hens-12","kind":"above","quantity":"temperature",)"
      R"("state":"unacknowledged","priority":"high",)"
      R"("active":true,"acknowledged":false,"latched":true,"snoozed_until":null,"value":39.8,)"
      R"("limit":39.5,"worst":39.8,"since":"2026-03-01T09:00:00.000Z",)"
      R"("raised_at":"2026-03-01T09:00:00.000Z","returned_at":null,"acknowledged_by":null,)"
      R"("acknowledged_at":null,"snoozed_by":null,"rings_again_at":null,"episode":"high-1","no_data":false},)"
      R"({"alarm":"warm","batch":"hens-12","kind":"above","quantity":"temperature",)"
      R"("state":"normal","priority":"medium"}],)"
      R"("probes":[{"probe":"top","quantity":"temperature","part":"air","value":39.8,)"
      R"("at":"2026-03-01T09:00:00.000Z","fresh":true},{"probe":"hall","quantity":"temperature",)"
      R"("part":"room","value":15.0,"at":null,"fresh":false}]})");
}

TEST(PictureJson, StatesByTheirNames) {
  CabinetView view = cabinet();
  for (std::size_t i = 0; i < kAlarmStateNames.size(); ++i) {
    view.alarms[0].state = static_cast<AlarmState>(i);
    EXPECT_NE(to_json(view).find("\"state\":\"" + std::string(kAlarmStateNames[i]) + "\""),
              std::string::npos);
  }
}

}  // namespace
}  // namespace clutchward
