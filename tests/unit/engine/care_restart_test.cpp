// The care of eggs across restarts: turns by hand at their hours and by a motor that tells its
// runs, airings by hand and by the machine, humidity from the dew point and its mean, and the
// papers of batches that are weighed, candled, split, moved and corrected. Stopped at any quarter
// of an hour of two days, everything goes on as if nothing had been.
#include <gtest/gtest.h>

#include "bench.h"

namespace clutchward {
namespace {

using namespace bench;

Settings farm() {
  Settings made = settings();
  made.patterns.push_back(pattern("run", Quantity::turn_run));
  made.patterns.push_back(pattern("dew", Quantity::dew_point));
  made.cabinets["a"].turner = false;
  made.cabinets["b"].turner_run = TurnerRun{20s, 90s};
  made.rules.clear();
  for (const char* id : {"silent", "blind", "airing_lid"}) made.rules[id].off = true;
  made.rules["dry_air"].average = SpanOrOff{2h};
  made.rules["deep"].kind = RuleKind::cooling;
  made.rules["cooling"].off = true;
  made.rules["deep"].fall = 2'000;
  made.recovery = 40min;
  Stage& by_hand = made.profiles["bench"].stages[0];
  by_hand.turn_every.reset();
  by_hand.turn_at = {7h, 13h, 19h};
  by_hand.cooling = {{0h, 15min, 16h}};
  Profile goose = made.profiles["bench"];
  goose.id = "goose";
  goose.name = "Domestic goose";
  Stage& by_motor = goose.stages[0];
  by_motor.turn_at.clear();
  by_motor.turn_every = 1h;
  by_motor.humidity = HumidityBand{55'000, 63'000};
  by_motor.cooling = {{10h, 20min, std::nullopt}};
  made.profiles["goose"] = goose;
  BatchSettings geese = made.batches[0];
  geese.id = "geese";
  geese.profile = "goose";
  geese.cabinet = "b";
  geese.eggs = 14;
  made.batches.push_back(geese);
  made.batches[0].eggs = 48;
  return made;
}

Step of_batch(Span after, Deed what, const std::string& batch) {
  Step step = deed(after, what);
  step.command.cabinet = "";
  step.command.batch = batch;
  return step;
}

// From 08:00 on, two days. The turns of the first evening and the next morning and the airing of
// the second day are forgotten; the motor runs short for four hours; the air is dry on the second
// morning.
std::vector<Step> two_days() {
  std::vector<Step> all;
  for (Span t = 0s; t <= 48h; t += 5min) {
    const Span hour = (t + 8h) % 24h;
    const bool aired = t > 24h ? false : hour >= 15h && hour < 15h + 20min;
    const bool window = hour > 10h && hour < 10h + 20min;
    all.push_back(reading(t + 1s, "a/top/temperature", aired ? "33.4" : "37.5"));
    all.push_back(reading(t + 2s, "b/top/temperature", window ? "36.1" : "37.4"));
    if (t % 10min == 0s)
      all.push_back(reading(t + 3s, "b/dew", t > 22h && t < 27h ? "21.0" : "27.9"));
    if (t % 1h == 30min) all.push_back(reading(t + 4s, "b/run", t > 13h && t < 17h ? "5" : "40"));
  }
  for (const Span t : {Span(5h + 10min), Span(35h), Span(47h)})
    all.push_back(deed(t, Deed::turned));
  all.push_back(deed(7h, Deed::cool, "", 20));
  all.push_back(reading(20h, "b/cooling", "on"));  // by the machine, at night, too short a fall
  all.push_back(reading(20h + 12min, "b/cooling", "off"));
  Step weighed = of_batch(1h, Deed::weighed, "geese");
  weighed.command.grams = 2240;
  all.push_back(weighed);
  Step candled = of_batch(26h, Deed::candled, "geese");
  candled.command.eggs_by_fate = {{Fate::infertile, 2}};
  all.push_back(candled);
  Step split = of_batch(30h, Deed::batch_split, "geese");
  split.command.eggs = 4;
  split.command.new_batch = "geese-b";
  split.command.to = "a";
  all.push_back(split);
  Step correct = of_batch(31h, Deed::batch_correct, "geese");
  correct.command.stored_days = 5;
  all.push_back(correct);
  Step move = of_batch(40h, Deed::batch_move, "geese-b");
  move.command.to = "b";
  all.push_back(move);
  std::stable_sort(all.begin(), all.end(),
                   [](const Step& one, const Step& other) { return one.after < other.after; });
  return all;
}

constexpr Span kNoStop = 1000h;

struct Told {
  std::vector<std::string> events;
  std::vector<BatchRecord> records;
};

Told play(Span stop) {
  const Settings made = farm();
  const auto at = [](Span after) {
    return Moment{Steady{500'000ms} + after, kStart + after, true};
  };
  auto engine = std::make_unique<Engine>(made, Zone(), at(0s), true);
  engine->begin();
  Kept kept;
  Told told;
  const auto note = [&] {
    for (const AlarmEvent& event : engine->take_events())
      told.events.push_back(
          to_text(event.at - kStart) + " " + event.key.cabinet + " " + event.key.batch + " " +
          event.key.alarm + " " + std::string(name_of(event.kind)) + " " +
          (event.value ? milli_exact(*event.value) : "-") + " " +
          (event.limit ? milli_exact(*event.limit) : "-") + " " + std::string(event.unit));
  };
  for (const Step& step : two_days()) {
    if (step.after > stop) {
      engine->settle(at(stop));
      note();
      kept.take(*engine);
      engine = std::make_unique<Engine>(made, Zone(), at(stop), true);
      EXPECT_TRUE(engine->restore(kept.all(), kStart + stop).empty());
      engine->begin();
      stop = kNoStop;
    }
    const Reply reply = apply(*engine, step, at(step.after));
    EXPECT_TRUE(!step.topic.empty() || reply.ok) << reply.why;
    note();
  }
  engine->settle(at(48h + 1min));
  note();
  for (const char* id : {"hens", "geese", "geese-b"})
    told.records.push_back(engine->record(id).value_or(BatchRecord{}));
  return told;
}

TEST(CareRestart, TheTwoDaysAreBusy) {
  const Told whole = play(kNoStop);
  const auto has = [&](const std::string& part) {
    return std::any_of(whole.events.begin(), whole.events.end(), [&](const std::string& line) {
      return line.find(part) != std::string::npos;
    });
  };
  EXPECT_TRUE(has(" a hens turning raised"));
  EXPECT_TRUE(has(" b geese turning raised"));
  EXPECT_TRUE(has(" b geese dry_air raised"));
  EXPECT_TRUE(has(" b geese dry_air returned"));
  // The window's fall of 1.3 C is less than the 2.0 that are wanted; the hens' of 4.1 is good.
  EXPECT_TRUE(has(" b geese deep raised 1.3 2 K"));
  EXPECT_TRUE(has(" a hens deep raised - 2 K"));  // never aired on the second day
  ASSERT_EQ(whole.records[0].coolings.size(), 2U);
  EXPECT_EQ(whole.records[0].coolings[0].verdict, "good");
  EXPECT_EQ(whole.records[0].coolings[1].verdict, "missed");
  EXPECT_EQ(whole.records[0].turning.size(), 3U);
  EXPECT_EQ(whole.records[1].turning[0].too_short, 3);
  EXPECT_EQ(whole.records[1].eggs, 10);
  EXPECT_EQ(whole.records[2].split_from, "geese");
  EXPECT_EQ(whole.records[2].moves.size(), 2U);
}

TEST(CareRestart, AtAnyQuarterOfAnHourChangesNothing) {
  const Told whole = play(kNoStop);
  for (Span stop = 7min + 30s; stop < 48h; stop += 15min) {
    const Told found = play(stop);
    ASSERT_EQ(found.events, whole.events) << "stopped after " << to_text(stop);
    ASSERT_EQ(found.records, whole.records) << "stopped after " << to_text(stop);
  }
}

}  // namespace
}  // namespace clutchward
