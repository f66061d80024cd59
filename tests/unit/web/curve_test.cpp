// A cabinet's curve: what is asked of the history, what is said and drawn of it, and that a page
// never waits long for it.
#include <gmock/gmock.h>

#include <nlohmann/json.hpp>

#include "base/limits.h"
#include "fake_site.h"
#include "raw_client.h"
#include "web/curve_view.h"
#include "web/server.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;
using test::at;
using testing::HasSubstr;
using testing::Not;

class CurvePage : public testing::Test {
 protected:
  CurvePage() { EXPECT_FALSE(server.serve_page("127.0.0.1:" + std::to_string(port))); }
  test::RawClient begin(const std::string& path) {
    test::RawClient client(port);
    test::pump(server, 0);
    client.send("GET " + path + " HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n");
    return client;
  }
  test::RawClient get(const std::string& path) {
    test::RawClient client = begin(path);
    client.finish(server);
    return client;
  }

  test::FakeSite site;
  std::uint16_t port = test::free_port();
  WebServer server{site.door()};
};

std::string plain(std::string text) {
  for (auto found = text.find("\u00a0"); found != text.npos; found = text.find("\u00a0", found))
    text.replace(found, 2, " ");
  return text;
}

TEST_F(CurvePage, SaysInWordsWhatItShows) {
  const std::string page = plain(get("/cabinets/setter-a").body());
  EXPECT_THAT(page, HasSubstr("<h2 id=\"curve-title\">The last 24 hours</h2>"));
  EXPECT_THAT(page, HasSubstr("Between 37.4 °C and 39.8 °C, on average"));
  EXPECT_THAT(page, HasSubstr("Humidity between 54 % and 56 %, on average 55 %."));
  EXPECT_THAT(page, HasSubstr("1 alarm: Too hot (high of hens-setter-a) from 08:41 to 08:55, worst "
                              "39.9 °C."));
  EXPECT_THAT(page, HasSubstr("<svg class=\"curve\""));
  EXPECT_THAT(page, HasSubstr("class=\"alarm high\""));
  EXPECT_THAT(page, HasSubstr("<tr><th scope=\"row\">08:00</th><td>37.4</td>"));
  EXPECT_THAT(page, HasSubstr("/uplot-1.6.32.js"));
  EXPECT_THAT(page, Not(HasSubstr("style=")));
  ASSERT_EQ(site.curves.size(), 1U);
  const CurveWanted& wanted = site.curves[0].first;
  EXPECT_EQ(wanted.stays[0].cabinet, "setter-a");
  EXPECT_EQ(wanted.from(), at("2026-03-12T09:10:00Z"));
  EXPECT_EQ(wanted.step, 5min);
  // Within a minute it is not asked for again.
  get("/cabinets/setter-a");
  EXPECT_EQ(site.curves.size(), 1U);
  site.steady += 61s;
  get("/cabinets/setter-a");
  EXPECT_EQ(site.curves.size(), 2U);
}

// An alarm must be seen however long a disk takes.
TEST_F(CurvePage, DoesNotWaitForADiskThatDoesNotAnswer) {
  site.curve_at_once = false;
  test::RawClient client = begin("/cabinets/setter-a");
  for (int i = 0; i < 20; ++i) test::pump(server, 5), client.read();
  EXPECT_EQ(client.received(), "");
  ASSERT_TRUE(server.timeout());
  EXPECT_LE(*server.timeout(), 500ms);
  site.steady += 501ms;
  client.finish(server);
  EXPECT_EQ(client.status(), 200);
  EXPECT_THAT(client.body(), HasSubstr("The curve is not to be had at this moment."));
  EXPECT_THAT(client.body(), HasSubstr("Too hot"));
  // What comes late is there for the next one.
  site.curves[0].second(std::make_shared<CurveFound>(site.curve));
  EXPECT_THAT(get("/cabinets/setter-a").body(), HasSubstr("<svg class=\"curve\""));
}

TEST_F(CurvePage, IsThereWithoutAHistory) {
  WebDoor door = site.door();
  door.curve = nullptr;
  WebServer bare(std::move(door));
  const std::uint16_t other = test::free_port();
  ASSERT_FALSE(bare.serve_page("127.0.0.1:" + std::to_string(other)));
  test::RawClient client(other);
  test::pump(bare, 0);
  client.send("GET /cabinets/setter-a HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n");
  client.finish(bare);
  EXPECT_EQ(client.status(), 200);
  EXPECT_THAT(client.body(), HasSubstr("not to be had"));
}

TEST_F(CurvePage, ProgramsAskForARangeAndGetNumbers) {
  const auto json = nlohmann::json::parse(
      get("/api/"
          "history?cabinet=setter-a&from=2026-03-13T08:00:00Z&to=2026-03-13T09:00:00Z&step=300")
          .body());
  EXPECT_EQ(json["cabinet"], "setter-a");
  EXPECT_EQ(json["step"], 300);
  EXPECT_EQ(json["temperature"]["at"][0], 1773388800);
  EXPECT_EQ(json["temperature"]["mean"][1], 37.55);
  EXPECT_EQ(json["humidity"]["max"][0], 56);
  EXPECT_EQ(json["alarms"][0]["priority"], "high");
  EXPECT_EQ(json["alarms"][0]["worst"], 39.9);
  EXPECT_EQ(site.curves.back().first.from(), at("2026-03-13T08:00:00Z"));
  EXPECT_EQ(site.curves.back().first.to(), at("2026-03-13T09:00:00Z"));
  EXPECT_THAT(get("/api/history?cabinet=setter-a&format=csv").body(),
              testing::StartsWith("at,quantity,min,mean,max\r\n"
                                  "2026-03-13T08:00:00.000Z,temperature,37.4,37.5,37.6\r\n"));
  // A batch's whole life, with days since it was set as its clock.
  get("/api/history?batch=geese-3");
  EXPECT_EQ(site.curves.back().first.from(), at("2026-03-01T08:00:00Z"));
  EXPECT_EQ(site.curves.back().first.step, 60min);
}

TEST_F(CurvePage, BatchesAreListedAndEachHasItsWholeLife) {
  const std::string list = get("/batches").body();
  EXPECT_THAT(list, HasSubstr("<a href=\"/batches/geese-3\"><bdi>geese-3</bdi></a><span>Domestic "
                              "goose in Setter A, day 12 of 30, 11 of 14 eggs</span>"));
  EXPECT_LT(list.find(">Running<"), list.find("geese-3"));
  EXPECT_LT(list.find(">Ended, the latest first<"), list.find("hens-2"));
  const std::string geese = get("/batches/geese-3").body();
  EXPECT_THAT(geese, HasSubstr("All of geese-3"));
  EXPECT_THAT(geese, HasSubstr("Candled: 3 infertile taken out (clear), by joss"));
  EXPECT_THAT(geese, HasSubstr("Weighed: 1650 g, 11 eggs, by joss"));
  EXPECT_LT(geese.find("Candled:"), geese.find("Set: 14 eggs"));  // the latest first
  EXPECT_EQ(site.curves.back().first.batch, "geese-3");
  EXPECT_THAT(get("/batches/hens-2").body(), HasSubstr("Ended"));
}

TEST_F(CurvePage, WhatCannotBeAskedIsSaid) {
  const std::pair<const char*, const char*> cases[] = {
      {"from=yesterday", "from is \"yesterday\"; expected a time such as 2026-03-01T08:00:00Z\n"},
      {"step=5min", "step is \"5min\"; expected seconds, whole minutes of them: 60, 300, 3600\n"},
      {"step=59", "step is \"59\"; expected seconds, whole minutes of them: 60, 300, 3600\n"},
      {"from=2026-03-14T00:00:00Z", "from lies not before to, or to come\n"},
      {"from=2025-03-01T00:00:00Z&step=60",
       "that are more than 2000 steps; expected a larger step or a shorter time\n"},
      {"format=xml", "format is \"xml\"; expected json or csv\n"}};
  for (const auto& [query, sentence] : cases) {
    const auto client = get("/api/history?cabinet=setter-a&" + std::string(query));
    EXPECT_EQ(client.status(), 400) << query;
    EXPECT_EQ(client.body(), sentence);
  }
  EXPECT_TRUE(site.curves.empty());
  EXPECT_EQ(get("/api/history?batch=no").status(), 404);
}

TEST(Curve, BandsFollowTheStagesAndTheRules) {
  CabinetView cabinet = test::cabinet("setter-a", "Setter A", 37'500);
  BatchStanding batch;
  batch.record.id = cabinet.batches[0].id;
  batch.record.set = true;
  batch.record.set_at = at("2026-03-01T08:00:00Z");
  batch.stages = {{"setting", at("2026-03-01T08:00:00Z"), at("2026-03-19T08:00:00Z"), 37'500,
                   std::nullopt, HumidityBand{45'000, 55'000}},
                  {"lockdown", at("2026-03-19T08:00:00Z"), at("2026-03-22T08:00:00Z"), 37'200,
                   std::nullopt, HumidityBand{65'000, 75'000}}};
  CurveView view;
  view.wanted.stays = {{"setter-a", at("2026-03-18T08:00:00Z"), at("2026-03-23T08:00:00Z"), {}}};
  put_bands(view, cabinet, {batch});
  ASSERT_EQ(view.temperature.size(), 2U);
  EXPECT_EQ(view.temperature[0], (CurveBand{at("2026-03-18T08:00:00Z"), at("2026-03-19T08:00:00Z"),
                                            36'100, 38'300, 37'500, "setting"}));
  // Eggs that hatch late still want what the last stage wants.
  EXPECT_EQ(view.temperature[1].to, at("2026-03-23T08:00:00Z"));
  EXPECT_EQ(view.temperature[1].low, 35'800);
  EXPECT_EQ(view.humidity[1].high, 75'000);
  // A rule of the batch's own narrows it.
  AlarmView high = test::alarm("setter-a", batch.record.id, "high", AlarmState::normal);
  high.target = 37'500;
  high.limit = 38'000;
  cabinet.alarms = {high};
  view.temperature.clear();
  put_bands(view, cabinet, {batch});
  EXPECT_EQ(view.temperature[0].high, 38'000);
}

// Of a step it is only known that some of it lay beyond.
TEST(Curve, SaysNoMoreOfTimeThanItsStepsDo) {
  CurveView view;
  view.wanted.stays = {{"setter-a", at("2026-03-13T08:00:00Z"), at("2026-03-13T09:00:00Z"), {}}};
  view.wanted.step = 5min;
  view.temperature = {{at("2026-03-13T08:00:00Z"), at("2026-03-13T10:00:00Z"), 36'100, 39'500,
                       std::nullopt, "setting"}};
  CurveFound found = test::morning();
  const auto said = [&] {
    view.curve = std::make_shared<CurveFound>(found);
    return curve_words(view, test::watch());
  };
  const std::string band = "Beyond the band (36.1 °C to 39.5 °C now) ";
  EXPECT_THAT(said(), testing::Contains(band + "once within the 20 min from 08:40."));
  found.temperature.erase(found.temperature.begin() + 9, found.temperature.begin() + 11);
  EXPECT_THAT(said(), testing::Contains(band + "2 times, within 10 min in all; last within the 5 "
                                               "min from 08:55."));
}

TEST(Curve, AlarmsThatEndAndThoseThatDoNot) {
  auto events = test::morning().events;
  events.push_back(events[0]);
  events.back().event.at = at("2026-03-13T09:00:00Z");
  const auto alarms = alarms_of(events);
  ASSERT_EQ(alarms.size(), 2U);
  EXPECT_EQ(alarms[0].to, at("2026-03-13T08:55:00Z"));
  EXPECT_EQ(alarms[0].worst, 39'900);
  EXPECT_FALSE(alarms[1].to);
}

TEST(Curve, PictureBreaksWhereNothingWasHeardAndIsAlwaysNumbers) {
  CurveView view;
  view.wanted.stays = {{"setter-a", at("2026-03-12T09:10:00Z"), at("2026-03-13T09:12:00Z"), {}}};
  view.wanted.step = 5min;
  CurveFound found = test::morning();
  found.temperature.erase(found.temperature.begin() + 4, found.temperature.begin() + 8);
  view.curve = std::make_shared<CurveFound>(found);
  const std::string svg = curve_picture(view, Quantity::temperature, test::watch());
  std::size_t lines = 0;
  for (auto place = svg.find("class=\"mean\""); place != svg.npos;
       place = svg.find("class=\"mean\"", place + 1))
    ++lines;
  EXPECT_EQ(lines, 2U);
  EXPECT_THAT(svg, Not(HasSubstr("nan")));
  EXPECT_THAT(svg, HasSubstr(">06:00</text>"));
  EXPECT_EQ(curve_picture({}, Quantity::temperature, test::watch()), "");
  WatchView fahrenheit = test::watch();
  fahrenheit.show = Show::fahrenheit;
  EXPECT_THAT(curve_picture(view, Quantity::temperature, fahrenheit), HasSubstr(">100</text>"));
}

}  // namespace
}  // namespace clutchward
