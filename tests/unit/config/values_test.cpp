// What single values become, to the thousandth and to the millisecond.
#include "config/values.h"

#include <gtest/gtest.h>

#include <chrono>

#include "config/load.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

const std::string kBase =
    "site: Saltmere\n"
    "broker: { url: \"mqtt://127.0.0.1:1883\", base: clutchward/saltmere }\n"
    "patterns:\n"
    "  - { topic: \"farm/{cabinet}/{probe}/temperature\", quantity: temperature }\n"
    "contacts: { mara: [{ webhook: \"http://127.0.0.1:9000/alert\" }] }\n"
    "escalation: [{ after: 0s, notify: [mara] }]\n";

Settings settings_of(const std::string& rest) {
  const Loaded loaded = parse_settings(kBase + rest, "clutchward.yaml");
  for (const Problem& problem : loaded.problems) ADD_FAILURE() << to_text(problem);
  return loaded.settings;
}

RulePatch rule_of(const std::string& id, const std::string& keys) {
  const Settings settings = settings_of("rules: { " + id + ": { " + keys + " } }\n");
  const auto found = settings.rules.find(id);
  return found == settings.rules.end() ? RulePatch{} : found->second;
}

TEST(Decimal, IsReadExactlyOrNotAtAll) {
  EXPECT_EQ(parse_decimal("37.5"), 37'500'000);
  EXPECT_EQ(parse_decimal("0"), 0);
  EXPECT_EQ(parse_decimal("-0.2"), -200'000);
  EXPECT_EQ(parse_decimal("0.000001"), 1);
  EXPECT_EQ(parse_decimal("9999999"), 9'999'999'000'000);
  for (const char* text :
       {"",     "-",  ".",  "1.",  ".5",   "+1",    "010",      "00",        "1e3", "0x1F",
        "37,5", "1 ", " 1", "nan", ".inf", "1_000", "12345678", "1.2345678", "--1", "1.2.3"}) {
    EXPECT_EQ(parse_decimal(text), std::nullopt) << text;
  }
}

TEST(Temperatures, AreCelsiusUnlessTheySayOtherwise) {
  EXPECT_EQ(rule_of("overheat", "limit: 40.5").limit, 40'500);
  EXPECT_EQ(rule_of("overheat", "limit: 40.5 C").limit, 40'500);
  EXPECT_EQ(rule_of("overheat", "limit: \"40.5C\"").limit, 40'500);
  EXPECT_EQ(rule_of("overheat", "limit: 40.5 °C").limit, 40'500);
  EXPECT_EQ(rule_of("overheat", "limit: \"40.5\"").limit, 40'500);
}

// F to C: the exact definition C = (F - 32) x 5 / 9.
TEST(Temperatures, FromFahrenheitAreExactToTheThousandth) {
  EXPECT_EQ(rule_of("overheat", "limit: 99.5 F").limit, 37'500);
  EXPECT_EQ(rule_of("overheat", "limit: 105 F").limit, 40'556);
  EXPECT_EQ(rule_of("overheat", "limit: 102 F").limit, 38'889);
  EXPECT_EQ(rule_of("overheat", "limit: 32 F").limit, 0);
  EXPECT_EQ(rule_of("overheat", "limit: 31.9991 F").limit, -1);  // -0.0005 C: away from zero
  EXPECT_EQ(rule_of("overheat", "limit: 0 F").limit, -17'778);
}

TEST(Temperatures, ThatAreDifferencesAreScaledOnly) {
  EXPECT_EQ(rule_of("high", "offset: 3.6 F").offset, 2'000);
  EXPECT_EQ(rule_of("high", "deadband: 0.36 F").deadband, 200);
  EXPECT_EQ(rule_of("high", "worse_by: 1.8 F").worse_by, MilliOrOff{1'000});
  EXPECT_EQ(rule_of("spread", "limit: 2.7 F").limit, 1'500);
  const Settings settings =
      settings_of("cabinets: { a: { offsets: { top: -0.9 F, low: 0.25, mid: 0 } } }\n");
  EXPECT_EQ(settings.cabinets.at("a").offsets,
            (std::map<std::string, Milli>{{"top", -500}, {"low", 250}, {"mid", 0}}));
}

TEST(Temperatures, AddUpToExactlyWhatIsWritten) {
  EXPECT_EQ(*rule_of("overheat", "limit: 37.7").limit + *rule_of("high", "offset: 1.9").offset,
            *rule_of("overheat", "limit: 39.6").limit);
}

TEST(Temperatures, RoundHalfAwayFromZero) {
  EXPECT_EQ(rule_of("overheat", "limit: 37.0005").limit, 37'001);
  EXPECT_EQ(rule_of("overheat", "limit: 37.00049").limit, 37'000);
  EXPECT_EQ(rule_of("overheat", "limit: -1.0005").limit, -1'001);
}

TEST(Humidity, IsPercent) {
  const RulePatch patch =
      rule_of("dry", "kind: below, quantity: humidity, limit: 40 %, deadband: 2.5, worse_by: 5%");
  EXPECT_EQ(patch.quantity, Quantity::humidity);
  EXPECT_EQ(patch.limit, 40'000);
  EXPECT_EQ(patch.deadband, 2'500);
  EXPECT_EQ(patch.worse_by, MilliOrOff{5'000});
}

TEST(Off, MayStandQuotedOrBare) {
  const Settings settings = settings_of(
      "rules:\n"
      "  warm: off\n"
      "  cool: \"off\"\n"
      "  hot: 'off'\n"
      "  high: { worse_by: off, acknowledge_holds: off }\n"
      "  low: { worse_by: \"off\", acknowledge_holds: \"off\" }\n"
      "profiles:\n"
      "  hen:\n"
      "    days: 21\n"
      "    stages:\n"
      "      - { name: a, from_day: 0, target: 37.5, turn_every: off }\n"
      "      - { name: b, from_day: 1, target: 37.5, turn_every: \"off\" }\n"
      "      - { name: c, from_day: 2, target: 37.5, turn_every: 1h }\n");
  RulePatch off;
  off.off = true;
  for (const char* id : {"warm", "cool", "hot"}) EXPECT_EQ(settings.rules.at(id), off) << id;
  for (const char* id : {"high", "low"}) {
    EXPECT_EQ(settings.rules.at(id).worse_by, MilliOrOff{std::nullopt}) << id;
    EXPECT_EQ(settings.rules.at(id).acknowledge_holds, SpanOrOff{std::nullopt}) << id;
    EXPECT_FALSE(settings.rules.at(id).off) << id;
  }
  const std::vector<Stage>& stages = settings.profiles.at("hen").stages;
  EXPECT_EQ(stages.at(0).turn_every, std::nullopt);
  EXPECT_EQ(stages.at(1).turn_every, std::nullopt);
  EXPECT_EQ(stages.at(2).turn_every, Span(1h));
}

TEST(Rules, OfEveryKindTakeTheKeysThatBelongToThem) {
  const Settings settings = settings_of(
      "rules:\n"
      "  high: { limit: 39.5, clear_delay: 90s, snooze_max: 1h 30min, acknowledge_holds: 45min,\n"
      "          latch: false, priority: low }\n"
      "  wet: { kind: above, quantity: wet_bulb, limit: 90 F, machine: true }\n"
      "  blind: { after: 15min }\n"
      "  turning: { missed: 2 }\n"
      "  stray: { kind: still, priority: medium }\n"
      "  power: { high_after: 0s, delay: 10s }\n"
      "  broker: { after: 1min }\n");
  EXPECT_EQ(settings.rules.at("high").limit, 39'500);
  EXPECT_EQ(settings.rules.at("high").offset, std::nullopt);
  EXPECT_EQ(settings.rules.at("high").clear_delay, Span(90s));
  EXPECT_EQ(settings.rules.at("high").snooze_max, Span(90min));
  EXPECT_EQ(settings.rules.at("high").acknowledge_holds, SpanOrOff{Span(45min)});
  EXPECT_EQ(settings.rules.at("high").latch, false);
  EXPECT_EQ(settings.rules.at("high").priority, Priority::low);
  EXPECT_EQ(settings.rules.at("wet").limit, 32'222);
  EXPECT_EQ(settings.rules.at("wet").machine, true);
  EXPECT_EQ(settings.rules.at("blind").after, Span(15min));
  EXPECT_EQ(settings.rules.at("turning").missed, 2);
  EXPECT_EQ(settings.rules.at("stray").kind, RuleKind::still);
  EXPECT_EQ(settings.rules.at("power").high_after, Span(0s));
  EXPECT_EQ(settings.rules.at("broker").after, Span(1min));
}

TEST(Rules, MayComeBackInALayerAboveTheOneThatTurnedThemOff) {
  const Settings settings = settings_of(
      "rules: { warm: off, mine: { kind: above, offset: 1.0 } }\n"
      "profiles:\n"
      "  hen:\n"
      "    days: 21\n"
      "    rules: { warm: { delay: 30min } }\n"
      "    stages:\n"
      "      - { name: a, from_day: 0, target: 37.5, rules: { mine: off } }\n"
      "      - { name: b, from_day: 18, target: 37.2, rules: { new: { kind: below, limit: 30 } } "
      "}\n"
      // `mine` lives on in stage b, `new` is there only in stage b: a batch may patch both.
      "batches: [{ id: b, profile: hen, cabinet: c, set_at: 2026-03-01T08:00:00Z,\n"
      "            rules: { mine: { delay: 5min }, new: { delay: 6min } } }]\n");
  EXPECT_EQ(settings.profiles.at("hen").rules.at("warm").delay, Span(30min));
  EXPECT_EQ(settings.batches.at(0).rules.at("mine").delay, Span(5min));
  EXPECT_EQ(settings.batches.at(0).rules.at("new").delay, Span(6min));
}

TEST(Batches, MayHaveBeenStored) {
  const Settings settings = settings_of(
      "profiles: { hen: { days: 21, stages: [{ name: a, from_day: 0, target: 37.5 }] } }\n"
      "batches:\n"
      "  - { id: b, profile: hen, cabinet: c, set_at: 2026-03-01T08:00:00Z, stored_days: 5.5 }\n"
      "  - { id: d, profile: hen, cabinet: c, set_at: 2026-03-01T08:00:00Z, stored_days: 0 }\n"
      "  - { id: e, profile: hen, cabinet: c, set_at: 2026-03-01T08:00:00Z }\n");
  EXPECT_EQ(settings.batches.at(0).stored_days, 5.5);
  EXPECT_EQ(settings.batches.at(1).stored_days, 0);
  EXPECT_EQ(settings.batches.at(2).stored_days, std::nullopt);
}

TEST(Stages, TakeFractionsOfDaysAndCoolingAsAMapOrAList) {
  const Settings settings = settings_of(
      "recovery: 0s\n"
      "profiles:\n"
      "  goose:\n"
      "    days: 30.5\n"
      "    recovery: 2h\n"
      "    stages:\n"
      "      - { name: a, from_day: 0, target: 37.5, cooling: { at: 10:00, for: 30min } }\n"
      "      - name: b\n"
      "        from_day: 17.25\n"
      "        target: 37.5\n"
      "        recovery: 45min\n"
      "        cooling:\n"
      "          - { at: \"23:30\", for: 45min }\n"
      "          - { at: \"00:15\", for: 12h }\n");
  const Profile& goose = settings.profiles.at("goose");
  EXPECT_EQ(settings.recovery, Span(0s));
  EXPECT_EQ(goose.days, 30.5);
  EXPECT_EQ(goose.recovery, Span(2h));
  EXPECT_EQ(goose.stages.at(0).cooling, (std::vector<CoolingWindow>{{10h, 30min}}));
  EXPECT_EQ(goose.stages.at(1).from, Span(414h));
  EXPECT_EQ(goose.stages.at(1).recovery, Span(45min));
  EXPECT_EQ(goose.stages.at(1).cooling,
            (std::vector<CoolingWindow>{{23h + 30min, 45min}, {15min, 12h}}));
}

TEST(Webhooks, KeepHeadersInOrderAndTheTemplateAsItStands) {
  const Loaded loaded = parse_settings(
      "site: Saltmere\n"
      "show: fahrenheit\n"
      "broker: { url: mqtt://broker.saltmere.example, base: a/b }\n"
      "patterns: [{ topic: \"{cabinet}\", quantity: wet_bulb, unit: F }]\n"
      "contacts:\n"
      "  odile:\n"
      "    - webhook: https://hooks.saltmere.example:8443/a?b=c\n"
      "      method: PUT\n"
      "      headers: { X-Second: \"2\", X-First: \"\" }\n"
      "      body: |\n"
      "        {\"text\": \"{{first_line}}\", \"for\": \"{{{contact}}}\"{{#batch}}, \"b\": "
      "1{{/batch}}}\n"
      "escalation: [{ after: 5min, notify: [odile] }]\n",
      "x");
  EXPECT_EQ(loaded.problems, std::vector<Problem>{});
  EXPECT_EQ(loaded.settings.show, Show::fahrenheit);
  EXPECT_EQ(loaded.settings.patterns.at(0).unit, Unit::fahrenheit);
  const WebhookChannel& webhook = *loaded.settings.contacts.at("odile").at(0).webhook;
  EXPECT_EQ(webhook.url, "https://hooks.saltmere.example:8443/a?b=c");
  EXPECT_EQ(webhook.method, "PUT");
  EXPECT_EQ(webhook.headers,
            (std::vector<std::pair<std::string, std::string>>{{"X-Second", "2"}, {"X-First", ""}}));
  EXPECT_EQ(webhook.body,
            "{\"text\": \"{{first_line}}\", \"for\": \"{{{contact}}}\"{{#batch}}, \"b\": "
            "1{{/batch}}}\n");
}

TEST(Cabinets, SayWhatAPatternCannot) {
  const Settings settings = settings_of(
      "max_cabinets: 1000000\n"
      "cabinets: { a: { combine: worst, probes: { x: egg, y: ignore, z: air }, machine: still },\n"
      "            b: { combine: mean } }\n");
  const CabinetSettings& a = settings.cabinets.at("a");
  EXPECT_EQ(a.combine, Combine::worst);
  EXPECT_EQ(a.machine, MachineType::still);
  EXPECT_FALSE(a.turner);
  EXPECT_EQ(a.probes,
            (std::map<std::string, Part>{{"x", Part::egg}, {"y", Part::ignore}, {"z", Part::air}}));
  EXPECT_EQ(settings.cabinets.at("b").combine, Combine::mean);
  EXPECT_EQ(settings.max_cabinets, 1'000'000);
}

}  // namespace
}  // namespace clutchward
