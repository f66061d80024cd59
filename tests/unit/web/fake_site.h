// Saltmere, made up for tests: cabinets in every standing, and a door that the test answers
// through. No engine: the values are set by hand and do not add up to a day's work.
#pragma once

#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <stdexcept>
#include <utility>
#include <vector>

#include "web/standing.h"
#include "web/web_door.h"

namespace clutchward::test {

inline Wall at(const char* text) {
  const auto time = parse_rfc3339(text);
  EXPECT_TRUE(time.has_value()) << text;
  return time.value_or(Wall{});
}

inline Zone dublin() {
  return Zone("Europe/Dublin", {{Wall{}, std::chrono::hours{0}, "GMT"},
                                {at("2026-03-29T01:00:00Z"), std::chrono::hours{1}, "IST"}});
}

inline const char* const kNow = "2026-03-13T09:12:05.000Z";

inline AlarmView alarm(const std::string& cabinet, const std::string& batch, const std::string& id,
                       AlarmState state, Priority priority = Priority::high) {
  AlarmView view;
  view.key = {cabinet, batch, id};
  view.state = state;
  view.priority = priority;
  view.active = state == AlarmState::unacknowledged || state == AlarmState::acknowledged;
  view.acknowledged = state == AlarmState::acknowledged;
  view.latched = state == AlarmState::latched;
  if (view.active) {
    view.since = view.raised_at = at("2026-03-13T09:00:00Z");
    view.episode = id + "-1";
  }
  return view;
}

inline CabinetView cabinet(const std::string& id, const std::string& name, Milli temperature) {
  CabinetView view;
  view.id = id;
  view.name = name;
  view.no_data = false;
  view.temperature = view.hottest = view.coldest = temperature;
  view.last_reading = at("2026-03-13T09:12:01Z");
  view.trend = Trend::steady;
  view.probes.push_back(
      {"top", Quantity::temperature, Part::air, temperature, view.last_reading, true});
  BatchView batch;
  batch.id = "hens-" + id;
  batch.profile = "hen";
  batch.name = "Domestic hen";
  batch.set_at = at("2026-03-01T08:00:00Z");
  batch.set = true;
  batch.day = 12.05;
  batch.days = 21;
  batch.stage = "setting";
  batch.target = 37'500;
  view.batches.push_back(batch);
  return view;
}

inline std::vector<CabinetView> saltmere() {
  CabinetView hot = cabinet("setter-a", "Setter A", 39'800);
  hot.trend = Trend::rising;
  hot.humidity = 55'250;
  AlarmView high = alarm("setter-a", "hens-setter-a", "high", AlarmState::unacknowledged);
  high.value = 39'800;
  high.limit = 39'500;
  high.worst = 40'100;
  hot.alarms = {high, alarm("setter-a", "hens-setter-a", "low", AlarmState::normal)};

  CabinetView held = cabinet("hatcher-1", "Hatcher 1", 36'000);
  AlarmView cool =
      alarm("hatcher-1", "hens-hatcher-1", "cool", AlarmState::acknowledged, Priority::medium);
  cool.kind = RuleKind::below;
  cool.value = 36'000;
  cool.limit = 36'100;
  cool.acknowledged_by = "mara";
  cool.acknowledged_at = at("2026-03-13T09:05:00Z");
  held.alarms = {cool};

  CabinetView silent = cabinet("setter-c", "Setter C", 37'400);
  silent.no_data = true;
  silent.last_reading = at("2026-03-13T09:08:00Z");
  CabinetView empty = cabinet("setter-d", "Setter D", 37'500);
  empty.batches.clear();
  return {cabinet("setter-b", "Setter B", 37'500), empty, silent, held, hot};
}

inline WatchView watch() {
  WatchView view;
  view.version = "0.1.0";
  view.site = "Saltmere";
  view.zone = dublin();
  view.now = at(kNow);
  view.uptime = std::chrono::hours{26};
  view.broker_linked = true;
  view.broker_since = at("2026-03-12T07:12:00Z");
  view.channels.push_back({"mara", "email", 3, 0, 0, at("2026-03-13T09:00:02Z"), ""});
  view.intake.accepted = 12'345;
  view.intake.rejected = {{"broken_json", 2}, {"implausible", 1}};
  return view;
}

// A goose batch a third of the way through: candled once, weighed twice, too dry for its line.
inline std::vector<BatchStanding> standings() {
  BatchStanding geese;
  BatchRecord& record = geese.record;
  record.id = "geese-3";
  record.profile = "goose";
  record.name = "Domestic goose";
  record.cabinet = "setter-a";
  record.set_at = at("2026-03-01T08:00:00Z");
  record.days = 30;
  record.eggs = 14;
  record.set = true;
  record.stages = {{record.set_at, "setting"}};
  record.weighings = {{at("2026-03-01T08:05:00Z"), 2240, 14, "mara"},
                      {at("2026-03-11T08:00:00Z"), 1650, 11, "joss"}};
  record.candlings = {{at("2026-03-11T07:00:00Z"), {{Fate::infertile, 3}}, "joss", "clear"}};
  geese.cabinet_name = "Setter A";
  geese.phase = Phase::set;
  geese.day = 12.05;
  geese.mass_loss = MassLossWanted{27, 11, 13};
  geese.dates = {{TaskKind::candle, 1, at("2026-03-11T08:00:00Z"), at("2026-03-11T08:00:00Z"),
                  "Candle: day 10", true, true},
                 {TaskKind::weigh, 3, at("2026-03-15T08:00:00Z"), at("2026-03-15T08:00:00Z"),
                  "Weigh the eggs: day 14", false},
                 {TaskKind::hatch, 1, at("2026-03-29T08:00:00Z"), at("2026-04-04T08:00:00Z"),
                  "Hatching expected", false}};
  BatchStanding ended;
  ended.record.id = "hens-2";
  ended.record.name = "Domestic hen";
  ended.record.set_at = at("2026-01-01T08:00:00Z");
  ended.record.set = true;
  ended.record.ended_at = at("2026-01-23T08:00:00Z");
  ended.phase = Phase::ended;
  return {geese, ended};
}

// The built-in rule `high` with a delay of the batch's own.
inline std::vector<RuleInForce> rules() {
  static const RulePatches kOwn = [] {
    RulePatches patches;
    patches["high"].delay = std::chrono::minutes{5};
    return patches;
  }();
  const auto resolved = resolve_rules({&built_in_rules(), &kOwn});
  std::vector<RuleInForce> rules;
  for (const Rule& rule : resolved)
    if (rule.id == "high" || rule.id == "silent")
      rules.push_back(
          {rule.id == "high" ? "hens-setter-a" : "", rule,
           rule.id == "high" ? std::optional<Milli>(39'500) : std::nullopt,
           origin_of(rule.id, {{"built-in", &built_in_rules()}, {"batch hens-setter-a", &kOwn}})});
  return rules;
}

// An hour of a warm morning, with humidity and one alarm, whatever was asked for.
inline CurveFound morning() {
  CurveFound found;
  for (int minute = 0; minute < 60; minute += 5) {
    const Wall time = at("2026-03-13T08:00:00Z") + std::chrono::minutes(minute);
    const Milli heat = 37'500 + (minute >= 40 ? 2'200 : 10 * minute);
    found.temperature.push_back({time, heat - 100, heat, heat + 100});
    found.humidity.push_back({time, 54'000, 55'000, 56'000});
  }
  CurveEvent raised;
  raised.event = {at("2026-03-13T08:41:00Z"),
                  {"setter-a", "hens-setter-a", "high"},
                  EventKind::raised,
                  39'700,
                  39'500,
                  39'700,
                  std::nullopt};
  raised.priority = Priority::high;
  CurveEvent returned = raised;
  returned.event.at = at("2026-03-13T08:55:00Z");
  returned.event.kind = EventKind::returned;
  returned.event.worst = 39'900;
  found.events = {raised, returned};
  return found;
}

// Two events of that morning, as the history keeps them; older ones where so many were passed over.
inline EventsFound happened(const EventsWanted& wanted) {
  EventsFound found;
  for (
      const char* text :
      {R"({"at":"2026-03-13T08:55:00.000Z","cabinet":"setter-a","batch":"hens-setter-a","alarm":"high","event":"acknowledged","value":39.7,"limit":39.5,"worst":39.9,"by":"mara","kind":"above","quantity":"temperature","priority":"high","latched":true})",
       R"({"at":"2025-12-31T08:41:00.000Z","cabinet":"setter-a","batch":"hens-setter-a","alarm":"high","event":"raised","value":39.7,"limit":39.5,"worst":39.7,"by":null,"kind":"above","quantity":"temperature","priority":"high","latched":true})"})
    if (auto noted = parse_event(text)) found.events.push_back({std::move(*noted), text});
  found.more = wanted.skip == 0;
  return found;
}

// A page, a document and figures; of a batch "nobody" there is nothing.
inline ReportMade report_of(const ReportWanted& wanted) {
  ReportMade made;
  std::string figures;
  for (const std::string& batch : wanted.batches) {
    made.unknown = made.unknown || batch == "nobody";
    figures += (figures.empty() ? "" : ",") + (R"({"batch":")" + batch) +
               R"(","eggs":14,"set_at":"2026-03-01T08:00:00.000Z"})";
  }
  if (made.unknown) made.trouble = "the history has no batch \"nobody\"";
  const std::string& first = wanted.batches.front();
  switch (wanted.form) {
    case ReportForm::page:
      made.body = "<style>b { color: #000; }</style><body><p>of " + first;
      break;
    case ReportForm::json:
      made.body = R"({"of":")" + first + "\"}\n";
      break;
    case ReportForm::table:
      made.body = wanted.table + " of " + first + "\n";
      break;
    case ReportForm::figures:
      made.body = "[" + figures + "]\n";
      break;
  }
  return made;
}

// The door of a site that stands still. Commands are kept; the test answers them when it likes.
struct FakeSite {
  std::vector<CabinetView> cabinets = saltmere();
  WatchView watch_view = watch();
  std::vector<BatchStanding> batches = standings();
  Steady steady{std::chrono::hours{2}};
  std::size_t most_at_once = 0;  // cabinets that one call has given
  bool answer_at_once = false;
  bool fails = false;  // in asking it
  std::vector<std::pair<Command, std::function<void(Reply)>>> commands;
  CurveFound curve = morning();
  bool reports_refused = false;
  std::vector<ReportWanted> reports;
  std::vector<EventsWanted> looks_back;
  bool curve_at_once = true;
  std::vector<std::pair<CurveWanted, std::function<void(Curve)>>> curves;

  WebDoor door() {
    WebDoor door;
    door.views = [this](std::size_t from, std::size_t most) {
      std::vector<CabinetView> some;
      for (std::size_t i = from; i < cabinets.size() && some.size() < most; ++i)
        some.push_back(cabinets[i]);
      most_at_once = std::max(most_at_once, some.size());
      return some;
    };
    door.cabinet = [this](const std::string& id) -> std::optional<CabinetView> {
      for (const CabinetView& each : cabinets)
        if (each.id == id) return each;
      return std::nullopt;
    };
    door.command = [this](const Command& command, const std::function<void(Reply)>& reply) {
      commands.emplace_back(command, reply);
      if (answer_at_once) reply({command.id, true, ""});
    };
    door.watch = [this] {
      if (fails) throw std::runtime_error("as a fault of the program would");
      return watch_view;
    };
    door.batch_ids = [this] {
      std::vector<std::string> ids;
      for (const BatchStanding& each : batches) ids.push_back(each.record.id);
      return ids;
    };
    door.batch = [this](const std::string& id) -> std::optional<BatchStanding> {
      for (const BatchStanding& each : batches)
        if (each.record.id == id) return each;
      return std::nullopt;
    };
    door.briefs = [this](std::size_t from, std::size_t most) {
      std::vector<CabinetBrief> briefs;
      for (std::size_t i = from; i < cabinets.size() && briefs.size() < most; ++i)
        briefs.push_back(brief_of(cabinets[i]));
      most_at_once = std::max(most_at_once, briefs.size());
      return briefs;
    };
    door.rules = [](const std::string&) { return rules(); };
    door.profiles = [] {
      return std::vector<std::pair<std::string, std::string>>{{"goose", "Domestic goose"},
                                                              {"hen", "Domestic hen"}};
    };
    door.curve = [this](CurveWanted wanted, const std::function<void(Curve)>& done) {
      curves.emplace_back(std::move(wanted), done);
      if (curve_at_once) done(std::make_shared<CurveFound>(curve));
    };
    door.report = [this](const ReportWanted& wanted, const std::function<void(Report)>& done) {
      reports.push_back(wanted);
      done(reports_refused ? nullptr : std::make_shared<ReportMade>(report_of(wanted)));
    };
    door.events = [this](const EventsWanted& wanted, const std::function<void(Events)>& done) {
      looks_back.push_back(wanted);
      done(reports_refused ? nullptr : std::make_shared<EventsFound>(happened(wanted)));
    };
    door.wakes = [] {
      return std::vector<WakePerson>{
          {"mara", "at once", {{"always", {"webhook", "webhook", "never"}}}, {"away <tomorrow>"}}};
    };
    door.now = [this] { return Moment{steady, watch_view.now, true}; };
    return door;
  }
};

}  // namespace clutchward::test
