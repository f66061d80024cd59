// Answers over thousands of cabinets come in parts, and others are served between them.
#include "web/slices.h"

#include <gmock/gmock.h>

#include <nlohmann/json.hpp>
#include <random>

#include "fake_site.h"
#include "raw_client.h"
#include "web/calendar.h"
#include "web/metrics.h"

namespace clutchward {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;

TEST(Slices, FewAreDoneWithinTheCall) {
  Slices slices;
  int seen = 0;
  bool done = false;
  const auto part = [](std::size_t from, std::size_t) {
    return std::vector<int>(from == 0 ? 9 : 0);
  };
  in_slices(
      slices, 10, part, [&](int) { ++seen; }, [&] { done = true; });
  EXPECT_TRUE(done);
  EXPECT_EQ(seen, 9);
  EXPECT_FALSE(slices.any());
  slices.turn();
}

TEST(Slices, APartATurnAndAllOfThem) {
  Slices slices;
  std::vector<std::size_t> seen;
  bool done = false;
  const auto part = [](std::size_t from, std::size_t most) {
    std::vector<std::size_t> some;
    for (std::size_t i = from; i < 20 && some.size() < most; ++i) some.push_back(i);
    return some;
  };
  in_slices(
      slices, 10, part, [&](std::size_t i) { seen.push_back(i); }, [&] { done = true; });
  EXPECT_EQ(seen.size(), 10U);
  slices.turn();
  EXPECT_EQ(seen.size(), 20U);
  EXPECT_FALSE(done);  // only an emptier part says that there is no more
  slices.turn();
  EXPECT_TRUE(done);
  EXPECT_FALSE(slices.any());
  for (std::size_t i = 0; i < seen.size(); ++i) EXPECT_EQ(seen[i], i);
}

TEST(Slices, SomeTakeTurnsAndTheOthersWait) {
  Slices slices;
  std::vector<int> order;
  for (int i = 0; i < 6; ++i)
    slices.begin([&order, i, left = 2]() mutable {
      order.push_back(i);
      return --left == 0;
    });
  EXPECT_THAT(order, ElementsAre(0));  // the first has begun, nobody else
  while (slices.any()) slices.turn();
  ASSERT_EQ(kSlicedAnswers, 4U);
  EXPECT_THAT(order, ElementsAre(0, 0, 1, 2, 3, 4, 1, 2, 3, 4, 5, 5));
}

// Four thousand cabinets, each with a batch.
class Crowd : public testing::Test {
 protected:
  Crowd() : server(site.door()) {
    site.cabinets.clear();
    site.batches.clear();
    const BatchStanding geese = test::standings().front();
    for (int i = 0; i < 4000; ++i) {
      const std::string id = "c" + std::to_string(1000 + i);
      site.cabinets.push_back(test::cabinet(id, "", 37'000 + i));
      site.batches.push_back(geese);
      site.batches.back().record.id = "b" + std::to_string(1000 + i);
    }
    EXPECT_FALSE(server.serve_page("127.0.0.1:" + std::to_string(port)));
  }

  test::RawClient asking(const std::string& path) {
    test::RawClient client(port);
    client.send("GET " + path + " HTTP/1.1\r\nHost: localhost\r\n\r\n");
    client.wait_arrived();
    return client;
  }
  // Until an answer has begun of which there is more to come: accepting it is a turn of its own.
  void until_slow() {
    for (int i = 0; i < 2 || (i < 2000 && server.timeout() != Span{0}); ++i) test::pump(server, 1);
    EXPECT_EQ(server.timeout(), Span{0});
  }
  void finish(test::RawClient& client) {
    for (int i = 0; i < 20'000 && !client.closed(); ++i) {
      test::pump(server, 1);
      client.read();
    }
    EXPECT_TRUE(client.closed());
  }
  std::string whole(const std::string& path) {
    test::RawClient client = asking(path);
    finish(client);
    EXPECT_EQ(client.status(), 200) << path;
    return client.body();
  }

  test::FakeSite site;
  std::uint16_t port = test::free_port();
  WebServer server;
};

TEST_F(Crowd, IsToldWholeAndAFewAtATime) {
  const auto cabinets = nlohmann::json::parse(whole("/api/cabinets"));
  ASSERT_EQ(cabinets.size(), 4000U);
  EXPECT_EQ(cabinets[0]["cabinet"], "c1000");
  EXPECT_EQ(cabinets[3999]["cabinet"], "c4999");
  const auto batches = nlohmann::json::parse(whole("/api/batches"));
  ASSERT_EQ(batches.size(), 4000U);
  EXPECT_EQ(batches[3999]["batch"], "b4999");
  EXPECT_EQ(whole("/metrics"), metrics(site.watch_view, site.cabinets, MetricsForm::open_metrics));
  EXPECT_EQ(whole("/calendar.ics"), calendar(site.watch_view.site, site.watch_view.zone,
                                             site.batches, site.watch_view.now));
  EXPECT_THAT(whole("/batches"), HasSubstr(">Running: 200 of 4000</h2>"));
  EXPECT_LE(site.most_at_once, 100U);
  EXPECT_THAT(whole("/?page=2"), HasSubstr("Cabinets 51 to 100 of 4000, the worst first"));
  EXPECT_LE(site.most_at_once, 500U);
}

TEST_F(Crowd, IsNoReasonForOthersToWait) {
  for (const char* path :
       {"/api/cabinets", "/metrics", "/batches", "/api/batches", "/calendar.ics", "/"}) {
    SCOPED_TRACE(path);
    test::RawClient slow = asking(path);
    until_slow();
    test::RawClient quick = asking("/icon.svg");
    for (int i = 0; i < 2000 && quick.status() == 0; ++i) {
      test::pump(server, 1);
      quick.read();
      slow.read();
    }
    EXPECT_EQ(quick.status(), 200);
    EXPECT_EQ(slow.received(), "");
    finish(slow);
    EXPECT_EQ(slow.status(), 200);
  }
}

TEST_F(Crowd, WhoLeavesIsForgottenAndTheEndComesInBetween) {
  {
    test::RawClient gone = asking("/api/cabinets");
    until_slow();
  }
  EXPECT_EQ(whole("/icon.svg").substr(0, 4), "<svg");
  for (int i = 0; i < 2000 && server.timeout() == Span{0}; ++i) test::pump(server, 0);
  EXPECT_NE(server.timeout(), Span{0});
  test::RawClient last = asking("/metrics");
  until_slow();
  EXPECT_FALSE(server.serve_page(""));  // listens no more: the answer finds nobody
  for (int i = 0; i < 2000 && server.timeout() == Span{0}; ++i) test::pump(server, 0);
}

}  // namespace
}  // namespace clutchward
