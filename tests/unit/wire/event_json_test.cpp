// Events and pictures as JSON, compared whole.
#include "wire/event_json.h"

#include <gtest/gtest.h>

#include <chrono>

#include "wire/picture_json.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

constexpr Wall kNine{1772355600000ms};  // 2026-03-01T09:00:00Z

TEST(EventJson, TheExampleOfTheInterfaces) {
  AlarmEvent event;
  event.at = kNine;
  event.key = {"setter-a", "hens-12", "high"};
  event.kind = EventKind::raised;
  event.value = 39'600;
  event.limit = 39'500;
  event.worst = 39'600;
  EXPECT_EQ(to_json(event),
            R"({"at":"2026-03-01T09:00:00.000Z","cabinet":"setter-a","batch":"hens-12","alarm":"high",)"
            R"("event":"raised","value":39.6,"limit":39.5,"worst":39.6,"by":null})");
}

TEST(EventJson, WhatIsNotThereIsNull) {
  AlarmEvent event;
  event.at = kNine + 1ms;
  event.key = {"", "", "broker"};
  event.kind = EventKind::snooze_ended;
  event.by = "mara";
  EXPECT_EQ(to_json(event),
            R"({"at":"2026-03-01T09:00:00.001Z","cabinet":null,"batch":null,"alarm":"broker",)"
            R"("event":"snooze_ended","value":null,"limit":null,"worst":null,"by":"mara"})");
}

TEST(EventJson, ThousandthsPrintAsTheyAre) {
  for (Milli value = -20'000; value <= 60'000; value += 7) {
    AlarmEvent event;
    event.key = {"a", "", "own"};
    event.value = value;
    std::string exact = milli_exact(value);
    if (exact.find('.') == std::string::npos) exact += ".0";
    ASSERT_NE(to_json(event).find("\"value\":" + exact + ","), std::string::npos) << value;
  }
}

TEST(EventJson, EveryEventByItsName) {
  for (std::size_t i = 0; i < kEventNames.size(); ++i) {
    AlarmEvent event;
    event.kind = static_cast<EventKind>(i);
    EXPECT_NE(to_json(event).find("\"event\":\"" + std::string(kEventNames[i]) + "\""),
              std::string::npos);
  }
}

TEST(EventJson, StrangeBytesBecomeReplacementCharacters) {
  AlarmEvent event;
  event.key.alarm = "own";
  event.by = "ma\xFFra\"\n";
  EXPECT_NE(to_json(event).find("\"by\":\"ma\xEF\xBF\xBDra\\\"\\n\""), std::string::npos);
}

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
      R"("trend":"rising","humidity":52.0,"last_reading":"2026-03-01T09:00:00.000Z","no_data":false,)"
      R"("last_turn":null,"power":null,"cooling":false,"attending_until":null,"attending_by":null,)"
      R"("batches":[{"batch":"hens-12","profile":"bench-hen","name":"Domestic hen",)"
      R"("set_at":"2026-02-28T09:00:00.000Z","set":true,"day":1.0,"days":21.0,"stage":"setting",)"
      R"("target":37.5,"eggs":48,"turning_due":false,"cooling":false}],)"
      R"("alarms":[{"alarm":"high","batch":"hens-12","state":"unacknowledged","priority":"high",)"
      R"("active":true,"acknowledged":false,"latched":true,"snoozed_until":null,"value":39.8,)"
      R"("limit":39.5,"worst":39.8,"since":"2026-03-01T09:00:00.000Z",)"
      R"("raised_at":"2026-03-01T09:00:00.000Z","returned_at":null,"acknowledged_by":null,)"
      R"("acknowledged_at":null,"snoozed_by":null,"episode":"high-1","no_data":false},)"
      R"({"alarm":"warm","batch":"hens-12","state":"normal","priority":"medium"}],)"
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
