// The published JSON of an event, compared whole: other programs read it by key and people by eye.
#include "wire/event_json.h"

#include <gtest/gtest.h>

namespace clutchward {
namespace {

AlarmEvent too_hot() {
  AlarmEvent event;
  event.at = *parse_rfc3339("2026-03-01T09:00:00Z");
  event.key = {"setter-a", "hens-12", "high"};
  event.kind = EventKind::raised;
  event.value = 39600;
  event.limit = 39500;
  event.worst = 39600;
  return event;
}

TEST(EventJson, IsTheExampleOfTheInterfaces) {
  EXPECT_EQ(to_json(too_hot()),
            R"({"at":"2026-03-01T09:00:00.000Z","cabinet":"setter-a","batch":"hens-12",)"
            R"("alarm":"high","event":"raised","value":39.6,"limit":39.5,"worst":39.6,"by":null})");
}

TEST(EventJson, SaysNullForWhatIsNotThere) {
  AlarmEvent event;
  event.key.alarm = "broker";
  event.kind = EventKind::acknowledged;
  event.by = "mara";
  EXPECT_EQ(to_json(event),
            R"({"at":"1970-01-01T00:00:00.000Z","cabinet":null,"batch":null,"alarm":"broker",)"
            R"("event":"acknowledged","value":null,"limit":null,"worst":null,"by":"mara"})");
}

TEST(EventJson, KeepsEveryThousandthAndNoMore) {
  AlarmEvent event = too_hot();
  for (Milli value = -20'000; value <= 100'000; ++value) {
    event.value = value;
    const std::string text = event_json(event)["value"].dump();
    const std::string exact = milli_exact(value);
    // A whole number may stand as 37.0.
    ASSERT_TRUE(text == exact || text == exact + ".0") << value << " became " << text;
  }
}

TEST(EventJson, NamesEveryKind) {
  AlarmEvent event = too_hot();
  for (std::size_t kind = 0; kind < kEventNames.size(); ++kind) {
    event.kind = static_cast<EventKind>(kind);
    EXPECT_EQ(event_json(event)["event"], kEventNames[kind]);
  }
}

TEST(EventJson, ReplacesBytesThatAreNotText) {
  AlarmEvent event = too_hot();
  event.by =
      "od\xff"
      "ile";
  const auto read = nlohmann::json::parse(to_json(event));
  EXPECT_EQ(read["by"],
            "od\xEF\xBF\xBD"
            "ile");
}

}  // namespace
}  // namespace clutchward
