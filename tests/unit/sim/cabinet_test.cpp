// What a simulated cabinet says, healthy and with each fault.
#include "cabinet-sim/cabinet.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <map>

#include "cabinet-sim/recording.h"
#include "cabinet-sim/site.h"

namespace clutchward::sim {
namespace {

using namespace std::chrono_literals;
using testing::HasSubstr;

struct Heard {
  Span at;
  Message message;
  bool operator==(const Heard&) const = default;
};
using Log = std::vector<Heard>;

std::vector<Fault> faults(std::initializer_list<const char*> texts) {
  std::vector<Fault> out;
  for (const char* text : texts) {
    const auto fault = parse_fault(text);
    EXPECT_TRUE(fault) << fault.why();
    out.push_back(*fault);
  }
  return out;
}

Log listen(Cabinet& cabinet, Span until) {
  Log log;
  std::vector<Message> messages;
  while (cabinet.next() <= until) {
    messages.clear();
    cabinet.step(messages);
    for (const Message& message : messages) log.push_back({cabinet.now(), message});
  }
  return log;
}

Log run(std::initializer_list<const char*> texts, Span until, CabinetSettings settings = {}) {
  Cabinet cabinet("a", settings, faults(texts));
  return listen(cabinet, until);
}

// The values of one topic within [from, until).
std::vector<std::string> heard(const Log& log, const std::string& topic, Span from, Span until) {
  std::vector<std::string> out;
  for (const Heard& each : log)
    if (each.message.topic == topic && each.at >= from && each.at < until)
      out.push_back(each.message.payload);
  return out;
}

double mean(const std::vector<std::string>& values) {
  double sum = 0;
  for (const auto& value : values) sum += std::stod(value);
  return sum / static_cast<double>(values.size());
}

double mean_of(const Log& log, const char* probe, Span from, Span until) {
  return mean(heard(log, std::string("farm/a/") + probe + "/temperature", from, until));
}

TEST(Cabinet, HealthySpeaksOnEveryTopicAtItsInterval) {
  const Log log = run({}, 1h);
  for (const char* topic : {"farm/a/top/temperature", "farm/a/middle/temperature",
                            "farm/a/bottom/temperature", "farm/a/humidity"})
    EXPECT_EQ(heard(log, topic, 0s, 1h).size(), 360u) << topic;
  EXPECT_EQ(heard(log, "farm/a/turned", 0s, 1h), std::vector<std::string>{"1"});
  EXPECT_THAT(heard(log, "farm/a/power", 0s, 1h), testing::Each("on"));
  EXPECT_GE(heard(log, "farm/a/power", 0s, 1h).size(), 6u);
  // Offsets have a standard deviation of 0.1: four of them and the noise of 360 readings.
  EXPECT_NEAR(mean_of(log, "middle", 0s, 1h), 37.5, 0.45);
  EXPECT_NEAR(mean(heard(log, "farm/a/humidity", 0s, 1h)), 55, 1);
}

TEST(Cabinet, ResolutionRoundsWhatIsSaid) {
  for (const Heard& each : run({}, 1h, {.resolution_k = 0.1}))
    if (each.message.topic.ends_with("temperature")) {
      EXPECT_EQ(each.message.payload.size(), 4u) << each.message.payload;
    }
  EXPECT_EQ(run({}, 10s, {.resolution_k = 0.01})[1].message.payload.size(), 5u);
}

TEST(Cabinet, SameSeedSameMessagesOtherSeedOthers) {
  EXPECT_EQ(run({"a:door@10min+5min"}, 2h), run({"a:door@10min+5min"}, 2h));
  EXPECT_NE(run({}, 10min, {.seed = 1}), run({}, 10min, {.seed = 2}));
}

TEST(Cabinet, HeaterOnOverheats) {
  const Log log = run({"a:heater-on@1h"}, 3h);
  EXPECT_LT(mean_of(log, "middle", 55min, 1h), 38.0);
  EXPECT_GT(mean_of(log, "middle", 2h, 3h), 39.5);
}

TEST(Cabinet, FaultsEnd) {
  const Log log = run({"a:heater-on@1h+20min"}, 8h);
  EXPECT_GT(mean_of(log, "middle", 79min, 80min), 39.5);
  EXPECT_NEAR(mean_of(log, "middle", 7h, 8h), 37.5, 0.45);
}

TEST(Cabinet, HeaterDeadCools) {
  EXPECT_LT(mean_of(run({"a:heater-dead@0s"}, 4h), "middle", 3h, 4h), 34.5);
}

TEST(Cabinet, CreepClimbsByItsSizeEachHour) {
  const Log log = run({"a:creep@0s=1"}, 6h);
  EXPECT_NEAR(mean_of(log, "middle", 330min, 6h) - mean_of(log, "middle", 210min, 4h), 2.0, 0.1);
}

TEST(Cabinet, FanFailureSpreadsTheProbes) {
  const Log log = run({"a:fan@1h"}, 3h);
  // Two offsets of standard deviation 0.1 stand between the probes.
  EXPECT_LT(mean_of(log, "top", 0s, 1h) - mean_of(log, "bottom", 0s, 1h), 0.8);
  EXPECT_GT(mean_of(log, "top", 2h, 3h) - mean_of(log, "bottom", 2h, 3h), 1.5);
}

TEST(Cabinet, DoorCoolsAndDries) {
  const Log log = run({"a:door@1h+10min"}, 2h);
  EXPECT_LT(mean_of(log, "middle", 69min, 70min), 35);
  EXPECT_LT(mean(heard(log, "farm/a/humidity", 69min, 70min)), 45);
}

TEST(Cabinet, DeadProbeIsSilentAndTheOthersSayWhatTheySaid) {
  const Log dead = run({"a:probe-dead=middle@10min"}, 1h);
  const Log healthy = run({}, 1h);
  EXPECT_FALSE(heard(dead, "farm/a/middle/temperature", 0s, 10min).empty());
  EXPECT_TRUE(heard(dead, "farm/a/middle/temperature", 10min, 1h).empty());
  EXPECT_EQ(heard(dead, "farm/a/top/temperature", 0s, 1h),
            heard(healthy, "farm/a/top/temperature", 0s, 1h));
}

TEST(Cabinet, FrozenProbeRepeatsItself) {
  const Log log = run({"a:probe-frozen=top@10min", "a:heater-dead@10min"}, 1h);
  const auto frozen = heard(log, "farm/a/top/temperature", 10min, 1h);
  EXPECT_EQ(frozen.size(), 300u);
  EXPECT_THAT(frozen, testing::Each(frozen.front()));
  EXPECT_LT(mean_of(log, "bottom", 50min, 1h), std::stod(frozen.front()) - 2);
}

TEST(Cabinet, TurnerStopsAndGoesOn) {
  const Log log = run({"a:turner@1h+2h"}, 5h);
  EXPECT_EQ(heard(log, "farm/a/turned", 0s, 1h).size(), 1u);
  EXPECT_EQ(heard(log, "farm/a/turned", 1h, 3h).size(), 0u);
  EXPECT_EQ(heard(log, "farm/a/turned", 3h, 5h).size(), 3u);  // 3:00, 3:45, 4:30
  EXPECT_TRUE(heard(run({}, 5h, {.turn_every = 0ms}), "farm/a/turned", 0s, 5h).empty());
}

TEST(Cabinet, PowerFailureIsToldAtOnceAndCools) {
  const Log log = run({"a:power@1h+2h"}, 4h);
  std::vector<Heard> changes;
  for (const Heard& each : log)
    if (each.message.topic == "farm/a/power" &&
        (changes.empty() || changes.back().message.payload != each.message.payload))
      changes.push_back(each);
  ASSERT_EQ(changes.size(), 3u);
  EXPECT_EQ(changes[1], (Heard{1h, {"farm/a/power", "off"}}));
  EXPECT_EQ(changes[2], (Heard{3h, {"farm/a/power", "on"}}));
  EXPECT_LT(mean_of(log, "middle", 175min, 3h), 35);
  EXPECT_TRUE(heard(log, "farm/a/turned", 1h, 3h).empty());
}

TEST(Cabinet, RadioFaultHushesEverythingAndTellsThePowerAfterwards) {
  const Log log = run({"a:radio@1h+1h", "a:power@90min"}, 3h);
  for (const Heard& each : log) EXPECT_FALSE(each.at >= 1h && each.at < 2h) << each.message.topic;
  const auto power = heard(log, "farm/a/power", 2h, 3h);
  ASSERT_FALSE(power.empty());
  EXPECT_EQ(power.front(), "off");
}

TEST(Cabinet, JsonHoldsTheSameInOnePayload) {
  const Log log = run({"a:probe-dead=top@10min"}, 30min, {.json = true});
  const auto before = heard(log, "farm/a/json", 0s, 10min),
             after = heard(log, "farm/a/json", 10min, 30min);
  ASSERT_EQ(before.size(), 60u);
  EXPECT_THAT(
      before.front(),
      testing::MatchesRegex(
          "\\{\"temperature\":\\{\"top\":37.[0-9]+,\"middle\":37.[0-9]+,\"bottom\":37.[0-9]+\\},"
          "\"humidity\":5[0-9].[0-9]\\}"));
  EXPECT_THAT(after.front(), HasSubstr("{\"temperature\":{\"middle\":"));
}

TEST(Cabinet, ColdStartWarmsUp) {
  const Log log = run({}, 12h, {.cold_start = true});
  EXPECT_LT(mean_of(log, "middle", 0s, 1min), 21);
  EXPECT_NEAR(mean_of(log, "middle", 11h, 12h), 37.5, 0.45);
}

TEST(Site, CabinetsSpeakInTimeOrderAndDoNotDisturbOneAnother) {
  const auto record = [](const std::vector<std::string>& names) {
    Site site(names, {}, {});
    std::map<std::string, std::string> lines;
    std::vector<Message> messages;
    Span last{};
    while (site.next() <= 1h) {
      EXPECT_GE(site.next(), last);
      last = site.next();
      messages.clear();
      site.step(messages);
      for (const auto& m : messages) lines[m.topic] += m.payload + " ";
    }
    return lines;
  };
  auto one = record({"a"}), three = record({"b", "a", "c"});
  EXPECT_EQ(one.size(), 6u);
  EXPECT_EQ(three.size(), 18u);
  for (const auto& [topic, values] : one) EXPECT_EQ(three[topic], values) << topic;
  EXPECT_NE(three["farm/b/top/temperature"], three["farm/a/top/temperature"]);
}

TEST(Site, TakesOrdersWhileItRuns) {
  Site site({"a", "b"}, {}, {});
  std::vector<Message> messages;
  const auto run_to = [&](Span until) {
    messages.clear();
    while (site.next() <= until) site.step(messages);
    std::size_t a = 0, b = 0;
    for (const auto& m : messages) (m.topic.starts_with("farm/a/") ? a : b) += 1;
    return std::pair(a, b);
  };
  EXPECT_GT(run_to(10min).first, 200u);
  EXPECT_EQ(*site.order("a:radio", 10min), "a: fault ordered");
  const auto hushed = run_to(20min);
  EXPECT_EQ(hushed.first, 0u);
  EXPECT_GT(hushed.second, 200u);
  EXPECT_EQ(*site.order("a:mend", 20min), "a: faults mended");
  EXPECT_GT(run_to(30min).first, 200u);
  EXPECT_EQ(site.order("c:mend", 1h).why(), "there is no cabinet \"c\"");
  EXPECT_EQ(site.order("radio", 1h).why(),
            "fault \"radio\": expected CABINET:FAULT@TIME[+DURATION][=SIZE]");
}

TEST(Recording, WritesOneMessageALine) {
  const Wall at = *parse_rfc3339("2026-03-01T08:00:00.250Z");
  EXPECT_EQ(recording_line(at, {"farm/a/json", "{\"humidity\":55.0}"}),
            "{\"tst\":\"2026-03-01T08:00:00.250000Z\",\"topic\":\"farm/a/json\","
            "\"payload\":\"{\\\"humidity\\\":55.0}\",\"retain\":0}\n");
}

}  // namespace
}  // namespace clutchward::sim
