// Records there and back, and what is refused on the way.
#include "wire/record_json.h"

#include <gtest/gtest.h>

#include "wire/command_json.h"

namespace clutchward {
namespace {

Wall at(const char* text) { return *parse_rfc3339(text); }

BatchRecord full() {
  BatchRecord record;
  record.id = "geese-3";
  record.profile = "goose";
  record.name = "Domestic goose";
  record.cabinet = "hatcher";
  record.set_at = at("2026-03-01T08:00:00Z");
  record.days = 30;
  record.eggs = 14;
  record.stored_days = 6.5;
  record.set = true;
  record.ended_at = at("2026-04-01T08:00:00Z");
  record.ended_by = "mara";
  record.outcome = {{Fate::hatched, 9}, {Fate::pipped, 1}};
  record.note = "first of the season";
  record.split_from = "geese-2";
  record.stages = {{record.set_at, "setting"}};
  record.candlings = {{at("2026-03-11T08:00:00Z"), {{Fate::infertile, 3}}, "mara", "clear"}};
  record.weighings = {{at("2026-03-01T08:05:00Z"), 2240.5, 14, "joss"}};
  record.moves = {{at("2026-03-27T08:00:00Z"), "setter", "hatcher", "joss"}};
  record.turning = {{20'513, 24, 1, 2, 3, 4}};
  record.coolings = {{at("2026-03-12T10:00:00Z"), at("2026-03-12T10:20:00Z"), 33'500,
                      at("2026-03-12T11:00:00Z"), "good", ""}};
  record.corrections = {{at("2026-03-02T08:00:00Z"), "mara", "eggs 12 -> 14"}};
  return record;
}

TEST(RecordJson, ComesBackAsItWas) {
  const auto back = parse_record(to_json(full()));
  ASSERT_TRUE(back) << back.why();
  EXPECT_EQ(*back, full());
  BatchRecord empty;
  empty.id = "x";
  const auto back_empty = parse_record(to_json(empty));
  ASSERT_TRUE(back_empty) << back_empty.why();
  EXPECT_EQ(*back_empty, empty);
}

TEST(RecordJson, SaysWhatPeopleRead) {
  const auto json = record_json(full());
  EXPECT_EQ(json["eggs_left"], 1);
  EXPECT_EQ(json["turning"][0]["date"], "2026-03-01");
  EXPECT_EQ(json["coolings"][0]["lowest"], 33.5);
  EXPECT_EQ(json["outcome"].dump(), R"({"hatched":9,"pipped":1})");
  EXPECT_TRUE(record_json(BatchRecord{})["eggs"].is_null());
}

TEST(RecordJson, RefusesWithTheKey) {
  EXPECT_EQ(parse_record("[]").why(), "not a JSON object");
  EXPECT_EQ(parse_record("{}").why(), "batch is missing; expected the id of the batch");
  EXPECT_EQ(parse_record(R"({"batch":"a"})").why(),
            "set_at is missing; expected a time such as \"2026-03-01T08:00:00Z\"");
  EXPECT_EQ(parse_record(R"({"batch":"a","set_at":"2026-03-01T08:00:00Z","eggs":-1})").why(),
            "eggs is -1; expected a whole number from 0 on");
  EXPECT_EQ(parse_record(R"({"batch":"a","set_at":"2026-03-01T08:00:00Z",
                             "weighings":[{"at":"noon"}]})")
                .why()
                .substr(0, 15),
            "weighings[1].at");
  EXPECT_NE(parse_record("nonsense").why().find("not a JSON object: nonsense"), std::string::npos);
}

TEST(CommandJson, CarriesTheDeedsOfABatch) {
  for (
      const char* text :
      {R"({"id":"1","by":"mara","do":"candled","batch":"b","at":"2026-03-01T08:00:00.000Z","removed":{"infertile":3,"dead_early":1},"note":"x"})",
       R"({"id":"1","by":"mara","do":"weighed","batch":"b","eggs":48,"grams":2710.5,"sure":true})",
       R"({"id":"1","by":"mara","do":"batch_end","batch":"b","outcome":{"hatched":40}})",
       R"({"id":"1","by":"mara","do":"batch_split","batch":"b","eggs":3,"to":"c","new_batch":"d"})",
       R"({"id":"1","by":"mara","do":"batch_correct","batch":"b","set_at":"2026-03-01T08:00:00.000Z","stored_days":4.5})"}) {
    const auto command = parse_command(text);
    ASSERT_TRUE(command) << command.why();
    EXPECT_EQ(to_json(*command), text);
  }
}

TEST(CommandJson, RefusesEggsByNoFate) {
  const auto why = [](const std::string& removed) {
    return parse_command(R"({"do":"candled","batch":"b","removed":)" + removed + "}").why();
  };
  EXPECT_EQ(why("3"), "removed is 3; expected eggs by fate, such as {\"infertile\": 3}");
  EXPECT_NE(why(R"({"infertil":3})").find("did you mean \"infertile\"?"), std::string::npos);
  EXPECT_NE(why(R"({"infertile":-3})").find("expected a whole number of eggs for infertile"),
            std::string::npos);
  EXPECT_NE(why(R"({"infertile":1.5})").find("a whole number"), std::string::npos);
  EXPECT_EQ(parse_command(R"({"do":"candled","batch":"b","removed":{},"outcome":{}})").why(),
            "removed belongs to candled and outcome to batch_end; expected one of them");
  EXPECT_EQ(parse_command(R"({"do":"weighed","batch":"b","grams":"many"})").why(),
            "grams is \"many\"; expected a number of grams");
}

}  // namespace
}  // namespace clutchward
