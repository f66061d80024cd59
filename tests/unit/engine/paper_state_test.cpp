// Records as state: every field comes back, and what was damaged is left out, entry by entry.
#include "engine/paper_state.h"

#include <gtest/gtest.h>

namespace clutchward {
namespace {

Wall at(const char* text) { return *parse_rfc3339(text); }

TEST(PaperState, EveryFieldComesBack) {
  BatchRecord record;
  record.id = "geese-3";
  record.profile = "goose";
  record.name = "Domestic goose";
  record.cabinet = "hatcher";
  record.set_at = at("2026-03-01T08:00:00Z");
  record.days = 30.5;
  record.eggs = 14;
  record.stored_days = 6.5;
  record.set = true;
  record.ended_at = at("2026-04-01T08:00:00Z");
  record.ended_by = "mara";
  record.outcome = {{Fate::hatched, 9}, {Fate::pipped, 1}};
  record.note = "first of the season";
  record.split_from = "geese-2";
  record.stages = {{record.set_at, "setting"}};
  record.candlings = {{at("2026-03-11T08:00:00Z"), {{Fate::infertile, 3}}, "mara", "clear"},
                      {at("2026-03-25T08:00:00Z"), {}, "", ""}};
  record.weighings = {{at("2026-03-01T08:05:00Z"), 2240.5, 14, "joss"}};
  record.moves = {{at("2026-03-27T08:00:00Z"), "setter", "hatcher", "joss"}};
  record.turning = {{20'513, 24, 1, 2, 3, 4}, {20'514, 0, 0, 0, 0, 0}};
  record.coolings = {{at("2026-03-12T10:00:00Z"), at("2026-03-12T10:20:00Z"), 33'500,
                      at("2026-03-12T11:00:00Z"), "good", ""},
                     {at("2026-03-13T10:00:00Z"), at("2026-03-13T10:20:00Z"), std::nullopt,
                      std::nullopt, "missed", "mara"}};
  record.corrections = {{at("2026-03-02T08:00:00Z"), "mara", "eggs 12 -> 14"}};
  EXPECT_EQ(load_record(save_record(record)), record);
  EXPECT_EQ(load_record(save_record({})), BatchRecord{});
  EXPECT_TRUE(save_record({}).members.empty());
}

TEST(PaperState, WhatWasDamagedIsLeftOut) {
  Tree tree = Tree::map();
  tree.add("eggs", "many").add("stored_days", "nan").add("set_at", "yesterday");
  Tree outcome = Tree::map();
  outcome.add("hatched", "-4").add("flown", "3").add("pipped", "2");
  tree.add("outcome", std::move(outcome));
  Tree weighings = Tree::list();
  Tree bad = Tree::map();
  bad.add("at", "noon").add("grams", "12");
  Tree good = Tree::map();
  good.add("at", "2026-03-01T08:05:00Z").add("grams", "1e400").add("eggs", "99999999999999");
  weighings.add(std::move(bad)).add(std::move(good)).add("no map");
  tree.add("weighings", std::move(weighings));
  const BatchRecord record = load_record(tree);
  EXPECT_EQ(record.eggs, 0);
  EXPECT_EQ(record.stored_days, std::nullopt);
  EXPECT_EQ(record.set_at, Wall{});
  EXPECT_EQ(record.outcome, (Fates{{Fate::pipped, 2}}));
  ASSERT_EQ(record.weighings.size(), 1u);
  EXPECT_EQ(record.weighings[0].grams, 0);
}

}  // namespace
}  // namespace clutchward
