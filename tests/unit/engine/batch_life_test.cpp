// A batch's life through the engine's door: deeds done and refused, their record, and the same
// after a restart. The farm is bench.h's, with a goose's schedule and a hatcher beside the setter.
#include <gtest/gtest.h>

#include "bench.h"

namespace clutchward {
namespace {

using namespace bench;

constexpr Span kDay = 24h;

Stage stage(const std::string& name, Span from, Milli target, std::optional<Span> turn) {
  Stage made;
  made.name = name;
  made.from = from;
  made.target = target;
  made.turn_every = turn;
  return made;
}

Settings farm() {
  Settings made = settings();
  Profile goose;
  goose.id = "goose";
  goose.name = "Domestic goose";
  goose.days = 30;
  goose.hatch = DayWindow{28, 34};
  goose.pip = DayWindow{27.5, 29.5};
  goose.candling = {10, 24};
  goose.transfer_day = 27;
  goose.mass_loss = MassLossWanted{27, 11, 13};
  goose.stages = {stage("setting", 0h, 37'300, 1h), stage("airing", 8 * kDay, 37'300, 1h),
                  stage("lockdown", 27 * kDay, 36'900, std::nullopt)};
  goose.stages[1].cooling = {{10h, 20min, std::nullopt}};
  goose.stages[0].target_still = 38'400;
  goose.stages[2].begins = Begins::moved;
  goose.still_rules["high"].limit = 40'000;
  made.profiles["goose"] = goose;
  made.batches.clear();
  made.cabinets["hatcher"];
  made.cabinets["still"].machine = MachineType::still;
  return made;
}

class BatchLife : public testing::Test {
 protected:
  Moment at(Span after) const { return {Steady{500'000ms} + after, kStart + after, true}; }

  Command command(Deed deed, const std::string& batch = "geese-3") const {
    Command made;
    made.by = "mara";
    made.deed = deed;
    made.batch = batch;
    return made;
  }
  Reply tell(const Command& command, Span after) {
    now = after;
    return engine->command(command, false, at(after));
  }
  std::string why(const Command& command, Span after) {
    const Reply reply = tell(command, after);
    EXPECT_FALSE(reply.ok);
    return reply.why;
  }
  void does(const Command& command, Span after) {
    const Reply reply = tell(command, after);
    EXPECT_TRUE(reply.ok) << reply.why;
  }
  Command start(int eggs = 14) const {
    Command made = command(Deed::batch_start);
    made.cabinet = "a";
    made.profile = "goose";
    made.eggs = eggs;
    return made;
  }
  Command weighing(double grams, int eggs) const {
    Command made = command(Deed::weighed);
    made.grams = grams;
    made.eggs = eggs;
    return made;
  }
  BatchRecord record(const std::string& batch = "geese-3") const {
    const auto found = engine->record(batch);
    EXPECT_TRUE(found) << batch;
    return found.value_or(BatchRecord{});
  }
  BatchView view(const std::string& cabinet, const std::string& batch = "geese-3") const {
    const auto found = engine->view(cabinet);
    for (const BatchView& each : found->batches)
      if (each.id == batch) return each;
    ADD_FAILURE() << batch << " is not in " << cabinet;
    return {};
  }
  // Everything as it was, from what the store holds, on another boot clock.
  void restart() {
    kept.take(*engine);
    engine = std::make_unique<Engine>(farm(), Zone(), at(now), true);
    EXPECT_EQ(engine->restore(kept.all(), kStart + now), std::vector<std::string>{});
    engine->begin();
  }

  std::unique_ptr<Engine> engine = std::make_unique<Engine>(farm(), Zone(), at(0h), true);
  Kept kept;
  Span now{0};
};

TEST_F(BatchLife, AGooseBatchFromTheShelfToTheHatchInTwoCabinets) {
  Command set = start();
  set.set_at = kStart + 2h;
  set.stored_days = 6;
  set.note = "first of the season";
  does(set, 0h);
  EXPECT_EQ(view("a").phase, Phase::planned);
  EXPECT_FALSE(record().set);
  EXPECT_EQ(why(command(Deed::candled), 1h),
            "the batch is not set yet: that is planned for 2026-03-01T10:00:00.000Z");
  engine->settle(at(2h));
  EXPECT_TRUE(record().set);
  EXPECT_EQ(view("a").phase, Phase::set);
  does(weighing(2240, 14), 2h + 5min);
  restart();

  Command candle = command(Deed::candled);
  candle.eggs_by_fate = {{Fate::infertile, 2}, {Fate::dead_early, 1}};
  candle.note = "one blood ring";
  candle.at = kStart + 10 * kDay + 1h;
  does(candle, 10 * kDay + 2h);
  EXPECT_EQ(view("a").eggs_left, 11);
  does(weighing(1672, 11), 10 * kDay + 3h);
  EXPECT_EQ(view("a").stage, "airing");
  restart();
  EXPECT_EQ(view("a").eggs_left, 11);
  EXPECT_EQ(view("a").next->kind, TaskKind::weigh);

  // The hatcher is free on day 26.5: the stage begins with the move, half a day before its own.
  Command move = command(Deed::batch_move);
  move.to = "hatcher";
  does(move, 26 * kDay + 14h);
  EXPECT_EQ(view("hatcher").stage, "lockdown");
  EXPECT_EQ(view("hatcher").target, 36'900);
  EXPECT_EQ(view("hatcher").phase, Phase::lockdown);
  EXPECT_FALSE(view("hatcher").turning_due);
  restart();
  EXPECT_EQ(view("hatcher").stage, "lockdown");
  engine->settle(at(29 * kDay));
  EXPECT_EQ(view("hatcher").phase, Phase::hatching);

  Command end = command(Deed::batch_end);
  end.eggs_by_fate = {{Fate::hatched, 9}, {Fate::pipped, 1}, {Fate::dead_late, 1}};
  does(end, 31 * kDay);
  EXPECT_TRUE(engine->view("hatcher")->batches.empty());
  kept.take(*engine);
  restart();

  const BatchRecord done = record();
  EXPECT_EQ(done.cabinet, "hatcher");
  EXPECT_EQ(done.name, "Domestic goose");
  EXPECT_EQ(done.days, 30);
  EXPECT_EQ(done.eggs, 14);
  EXPECT_EQ(done.eggs_left(), 0);
  EXPECT_EQ(done.stored_days, 6);
  EXPECT_EQ(done.note, "first of the season");
  EXPECT_EQ(done.ended_at, kStart + 31 * kDay);
  EXPECT_EQ(done.ended_by, "mara");
  EXPECT_EQ(done.outcome, end.eggs_by_fate);
  ASSERT_EQ(done.candlings.size(), 1u);
  EXPECT_EQ(done.candlings[0],
            (Candling{kStart + 10 * kDay + 1h, candle.eggs_by_fate, "mara", "one blood ring"}));
  ASSERT_EQ(done.weighings.size(), 2u);
  EXPECT_EQ(done.weighings[1], (Weighing{kStart + 10 * kDay + 3h, 1672, 11, "mara"}));
  ASSERT_EQ(done.moves.size(), 1u);
  EXPECT_EQ(done.moves[0], (Relocation{kStart + 26 * kDay + 14h, "a", "hatcher", "mara"}));
  const Wall set_at = kStart + 2h;
  EXPECT_EQ(done.stages, (std::vector<StageBegun>{{set_at, "setting"},
                                                  {set_at + 8 * kDay, "airing"},
                                                  {kStart + 26 * kDay + 14h, "lockdown"}}));
}

TEST_F(BatchLife, AStageThatWaitsForTheMoveBeginsADayAfterItsOwnAtTheLatest) {
  does(start(), 0h);
  engine->settle(at(28 * kDay - 1ms));
  EXPECT_EQ(view("a").stage, "airing");
  engine->settle(at(28 * kDay));
  EXPECT_EQ(view("a").stage, "lockdown");
  // A move long before the day begins nothing.
  Command other = start();
  other.batch = "early";
  does(other, 28 * kDay);
  Command move = command(Deed::batch_move, "early");
  move.to = "b";
  does(move, 30 * kDay);
  EXPECT_EQ(view("b", "early").stage, "setting");
}

TEST_F(BatchLife, RefusesWhatCannotBeAndSaysWhy) {
  does(start(), 0h);
  Command candle = command(Deed::candled);
  candle.eggs_by_fate = {{Fate::infertile, 15}};
  EXPECT_EQ(why(candle, kDay), "15 eggs removed, but batch \"geese-3\" holds 14 of 14 set");
  candle.eggs_by_fate = {{Fate::hatched, 1}};
  EXPECT_EQ(why(candle, kDay), "removed names hatched: that is an outcome, for batch_end");
  candle.eggs_by_fate = {};
  candle.at = kStart - 1h;
  EXPECT_EQ(why(candle, kDay),
            "at is 2026-03-01T07:00:00.000Z, before the eggs were set on 2026-03-01T08:00:00.000Z");
  candle.at = kStart + 2 * kDay;
  EXPECT_EQ(why(candle, kDay), "at is 2026-03-03T08:00:00.000Z, which has not come yet");
  EXPECT_EQ(why(weighing(-1, 14), kDay),
            "how heavy are they? give grams, above 0, without the tray");
  EXPECT_EQ(why(weighing(2000, 15), kDay),
            "15 eggs weighed, but batch \"geese-3\" holds 14 of 14 set");
  EXPECT_EQ(why(command(Deed::candled, "gese-3"), kDay),
            "no batch \"gese-3\"; did you mean \"geese-3\"?");
  EXPECT_EQ(why(command(Deed::candled, ""), kDay), "which batch?");
  Command end = command(Deed::batch_end);
  end.eggs_by_fate = {{Fate::hatched, 15}};
  EXPECT_EQ(why(end, kDay), "15 eggs in the outcome, but batch \"geese-3\" holds 14 of 14 set");
  Command other = start(0);
  other.batch = "b2";
  EXPECT_EQ(why(other, kDay), "eggs is 0; expected at least 1");
  other.eggs = 3;
  other.profile = "gose";
  EXPECT_EQ(why(other, kDay), "no profile \"gose\"; did you mean \"goose\"?");
  other.profile = "goose";
  other.set_at = kStart - 300 * kDay;
  EXPECT_NE(why(other, kDay).find("over 30 days ago"), std::string::npos);
  other.set_at = kStart + 400 * kDay;
  EXPECT_NE(why(other, kDay).find("more than a year ahead; is the year right?"), std::string::npos);
  other.set_at = kStart;
  other.stored_days = 90;
  EXPECT_NE(why(other, kDay).find("stored_days must be between 0 and 60"), std::string::npos);
  // Nothing of it left a trace.
  EXPECT_TRUE(record().candlings.empty());
  EXPECT_TRUE(record().weighings.empty());
  EXPECT_EQ(engine->records(), std::vector<std::string>{"geese-3"});
}

TEST_F(BatchLife, AHeavierWeighingIsTakenOnlyFromSomebodyWhoIsSure) {
  does(start(), 0h);
  does(weighing(2240, 14), 1h);
  const std::string said = why(weighing(2400, 14), 3 * kDay);
  EXPECT_NE(said.find("if it is right all the same, say \"sure\": true"), std::string::npos)
      << said;
  Command sure = weighing(2400, 14);
  sure.sure = true;
  does(sure, 3 * kDay);
  EXPECT_EQ(record().weighings.size(), 2u);
  // One told late stands in its place.
  Command late = weighing(2390, 14);
  late.at = kStart + 2 * kDay;
  late.sure = true;
  does(late, 4 * kDay);
  EXPECT_EQ(record().weighings[1].grams, 2390);
}

TEST_F(BatchLife, SplitEggsGoOnWithTheirOwnRecord) {
  does(start(), 0h);
  does(weighing(2240, 14), 1h);
  Command split = command(Deed::batch_split);
  split.to = "hatcher";
  split.eggs = 14;
  EXPECT_NE(why(split, kDay).find("new_batch is missing"), std::string::npos);
  split.new_batch = "geese-3b";
  EXPECT_EQ(
      why(split, kDay),
      "14 eggs cannot be split off: batch \"geese-3\" holds 14; to take all of them, move it");
  split.eggs = 5;
  does(split, kDay);
  restart();
  EXPECT_EQ(record().eggs, 9);
  EXPECT_EQ(record().corrections.at(0).what, "5 eggs split off as geese-3b to hatcher");
  const BatchRecord part = record("geese-3b");
  EXPECT_EQ(part.eggs, 5);
  EXPECT_EQ(part.split_from, "geese-3");
  EXPECT_EQ(part.weighings, record().weighings);
  EXPECT_EQ(part.set_at, kStart);
  EXPECT_EQ(part.moves.at(0).to, "hatcher");
  EXPECT_EQ(view("hatcher", "geese-3b").stage, "setting");
}

TEST_F(BatchLife, WhatWasSaidWrongIsPutRightAndTheRecordSaysByWhom) {
  does(start(), 0h);
  Command nothing = command(Deed::batch_correct);
  EXPECT_EQ(why(nothing, kDay),
            "what is to be put right? give set_at, eggs, stored_days, outcome or note");
  Command correct = command(Deed::batch_correct);
  correct.set_at = kStart - 7 * kDay;
  correct.eggs = 16;
  correct.stored_days = 4;
  does(correct, 2 * kDay);
  EXPECT_EQ(view("a").stage, "airing");  // day 9 by the new hour
  restart();
  EXPECT_EQ(view("a").stage, "airing");
  const BatchRecord now_it_is = record();
  EXPECT_EQ(now_it_is.eggs, 16);
  EXPECT_EQ(now_it_is.set_at, kStart - 7 * kDay);
  ASSERT_EQ(now_it_is.corrections.size(), 1u);
  EXPECT_EQ(now_it_is.corrections[0].by, "mara");
  EXPECT_EQ(now_it_is.corrections[0].what,
            "eggs 14 -> 16; stored days unsaid -> 4; set_at 2026-03-01T08:00:00.000Z -> "
            "2026-02-22T08:00:00.000Z");
  // Back again: the stage follows.
  correct = command(Deed::batch_correct);
  correct.set_at = kStart;
  does(correct, 2 * kDay + 1h);
  EXPECT_EQ(view("a").stage, "setting");
  correct.set_at = kStart + 5 * kDay;
  EXPECT_NE(why(correct, 3 * kDay).find("is set already"), std::string::npos);
  // After the end: the outcome, too.
  does(command(Deed::batch_end), 31 * kDay);
  kept.take(*engine);
  restart();
  correct = command(Deed::batch_correct);
  correct.eggs_by_fate = {{Fate::hatched, 17}};
  EXPECT_NE(why(correct, 32 * kDay).find("more than 16 set"), std::string::npos);
  correct.eggs_by_fate = {{Fate::hatched, 12}};
  does(correct, 32 * kDay);
  EXPECT_EQ(record().outcome.at(Fate::hatched), 12);
  EXPECT_EQ(record().corrections.back().what, "outcome 0 eggs -> 12 eggs");
  EXPECT_EQ(why(command(Deed::candled), 32 * kDay), "batch \"geese-3\" has ended");
}

TEST_F(BatchLife, AStillAirMachineHasItsOwnTargetAndRules) {
  does(start(), 0h);
  EXPECT_EQ(view("a").target, 37'300);
  Command move = command(Deed::batch_move);
  move.to = "still";
  does(move, kDay);
  EXPECT_EQ(view("still").target, 38'400);
  const auto limit_of_high = [&](const std::string& cabinet) {
    return engine->find({cabinet, "geese-3", "high"})->limit;
  };
  EXPECT_EQ(limit_of_high("still"), 40'000);
  restart();
  EXPECT_EQ(view("still").target, 38'400);
  EXPECT_EQ(limit_of_high("still"), 40'000);
  move.to = "a";
  does(move, 2 * kDay);
  EXPECT_EQ(view("a").target, 37'300);
  EXPECT_EQ(limit_of_high("a"), 39'300);
}

TEST_F(BatchLife, ChangedRecordsAreNamedOnce) {
  does(start(), 0h);
  EXPECT_EQ(engine->take_changed_records(), std::vector<std::string>{"geese-3"});
  EXPECT_TRUE(engine->take_changed_records().empty());
  does(weighing(2240, 14), 1h);
  does(command(Deed::candled), 2h);
  EXPECT_EQ(engine->take_changed_records(), std::vector<std::string>{"geese-3"});
  engine->settle(at(8 * kDay));  // a stage
  EXPECT_EQ(engine->take_changed_records(), std::vector<std::string>{"geese-3"});
  kept.take(*engine);
  restart();
  EXPECT_TRUE(engine->take_changed_records().empty());
}

// What the configuration says of the storage; a person's word holds against it, over restarts and
// reloads, too.
TEST_F(BatchLife, StorageMayStandInTheConfiguration) {
  Settings made = farm();
  BatchSettings batch;
  batch.id = "geese-3";
  batch.profile = "goose";
  batch.cabinet = "a";
  batch.set_at = kStart;
  batch.eggs = 14;
  const auto boot = [&] {
    kept.take(*engine);
    engine = std::make_unique<Engine>(made, Zone(), at(now), true);
    EXPECT_EQ(engine->restore(kept.all(), kStart + now), std::vector<std::string>{});
    engine->begin();
  };
  made.batches = {batch};
  engine = std::make_unique<Engine>(made, Zone(), at(0h), true);
  engine->begin();
  EXPECT_EQ(record().stored_days, std::nullopt);
  made.batches[0].stored_days = 6;
  engine->configure(made, Zone(), at(1h));
  EXPECT_EQ(record().stored_days, 6);
  now = 2h;
  boot();
  EXPECT_EQ(record().stored_days, 6);
  Command correct = command(Deed::batch_correct);
  correct.stored_days = 4;
  does(correct, 3h);
  engine->configure(made, Zone(), at(4h));
  EXPECT_EQ(record().stored_days, 4);
  boot();
  EXPECT_EQ(record().stored_days, 4);
  // Added while the daemon was away, and dates that cannot be: watched all the same, and said.
  made.batches.push_back(batch);
  made.batches[1].id = "old";
  made.batches[1].set_at = kStart - 300 * kDay;
  made.batches[1].stored_days = 2;
  boot();
  EXPECT_EQ(record("old").stored_days, 2);
  const auto notes = engine->take_notes();
  ASSERT_EQ(notes.size(), 1u);
  EXPECT_EQ(notes[0],
            "batch old of the configuration is watched, but its set_at is "
            "2025-05-05T08:00:00.000Z: the last chicks of \"goose\" would have come on "
            "2025-06-08T08:00:00.000Z, over 30 days ago");
}

// Two ages in one cabinet: each has its own day, stage and rules.
TEST_F(BatchLife, SeveralAgesLieInOneCabinet) {
  does(start(), 0h);
  Command older = start();
  older.batch = "older";
  older.set_at = kStart - 20 * kDay;
  does(older, 1h);
  EXPECT_EQ(view("a").stage, "setting");
  EXPECT_EQ(view("a", "older").stage, "airing");
  EXPECT_NEAR(view("a", "older").day, 20 + 1.0 / 24, 1e-9);
}

}  // namespace
}  // namespace clutchward
