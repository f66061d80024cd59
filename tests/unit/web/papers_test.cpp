// Reports and what happened, as the pages serve them: what is asked of the history, what may run in
// a report, how one page of events leads to the next, and what is refused.
#include <gmock/gmock.h>

#include "base/limits.h"
#include "fake_site.h"
#include "raw_client.h"
#include "web/server.h"

namespace clutchward {
namespace {

using test::FakeSite;
using test::pump;
using test::RawClient;
using testing::HasSubstr;
using testing::Not;

class Papers : public testing::Test {
 protected:
  RawClient get(const std::string& path) {
    const std::string listen = "127.0.0.1:" + std::to_string(port_);
    EXPECT_FALSE(server.serve_page(listen));
    RawClient client(static_cast<std::uint16_t>(port_));
    pump(server, 0);
    client.send("GET " + path + " HTTP/1.1\r\nHost: localhost\r\n\r\n");
    client.finish(server);
    return client;
  }
  FakeSite site;
  WebServer server{site.door()};
  int port_ = test::free_port();
};

TEST_F(Papers, ReportMayUseItsOwnStyleAndNothingElse) {
  const RawClient page = get("/batches/geese-3/report");
  EXPECT_EQ(page.status(), 200);
  EXPECT_EQ(page.header("Content-Type"), "text/html; charset=utf-8");
  // `printf 'b { color: #000; }' | openssl dgst -sha256 -binary | base64`
  EXPECT_EQ(page.header("Content-Security-Policy"),
            "default-src 'none'; style-src 'sha256-b7cppwypX/D5h1uASCNX7q3JCja1bctoAiuASLtrHI4='; "
            "base-uri 'none'; form-action 'none'; "
            "frame-ancestors 'none'");
  EXPECT_THAT(page.body(), HasSubstr("<a href=\"/batches/geese-3\">Back to the batch</a>"));
  EXPECT_EQ(site.reports.back(), (ReportWanted{ReportForm::page, {"geese-3"}, ""}));
}

TEST_F(Papers, TablesAreKeptUnderTheirName) {
  const RawClient table = get("/batches/geese%203/report.csv?table=alarms");
  EXPECT_EQ(table.header("Content-Disposition"),
            "attachment; filename*=UTF-8''geese%203-alarms.csv");
  EXPECT_EQ(table.body(), "alarms of geese 3\n");
  EXPECT_EQ(get("/batches/geese-3/report.csv").body(), "batch of geese-3\n");
  EXPECT_EQ(get("/batches/geese-3/report.json").body(), "{\"of\":\"geese-3\"}\n");
}

TEST_F(Papers, TooMuchAskedForIsSaidAtOnce) {
  site.reports_refused = true;
  EXPECT_EQ(get("/batches/geese-3/report").status(), 503);
  EXPECT_EQ(get("/batches/geese-3/report").header("Retry-After"), "5");
  EXPECT_EQ(get("/history").status(), 503);
  std::string query = "?batch=b0";
  for (std::size_t i = 1; i <= limits::kComparedBatches; ++i)
    query += "&batch=b" + std::to_string(i);
  site.reports.clear();
  EXPECT_EQ(get("/compare" + query).status(), 400);
  EXPECT_EQ(get("/api/compare" + query).status(), 400);
  EXPECT_TRUE(site.reports.empty());
}

TEST_F(Papers, BatchesStandBesideOneAnother) {
  const std::string page = get("/compare?batch=geese-3&batch=hens-2&batch=geese-3").body();
  EXPECT_EQ(site.reports.back(), (ReportWanted{ReportForm::figures, {"geese-3", "hens-2"}, ""}));
  EXPECT_THAT(page, HasSubstr("<tr><th scope=\"row\">Eggs set</th><td>14</td><td>14</td></tr>"));
  EXPECT_THAT(page, HasSubstr("<th scope=\"row\">Set</th><td>2026-03-01</td>"));
  EXPECT_THAT(page, HasSubstr("value=\"hens-2\" checked"));
  EXPECT_THAT(get("/compare?batch=nobody").body(), HasSubstr("the history has no batch"));
  EXPECT_THAT(get("/batches").body(), HasSubstr("href=\"/batches/geese-3/report\""));
}

TEST_F(Papers, EventsLeadFromPageToPage) {
  const std::string first = get("/history?cabinet=setter-a").body();
  EXPECT_EQ(site.looks_back.back(), (EventsWanted{"setter-a", "", site.watch_view.now, 0, 50}));
  EXPECT_THAT(first, HasSubstr("high of hens-setter-a: acknowledged by mara"));
  EXPECT_THAT(first, HasSubstr("31 Dec 08:41 2025"));
  EXPECT_THAT(first, HasSubstr("high of hens-setter-a: raised at 39.7"));
  EXPECT_THAT(
      first,
      HasSubstr("/history?cabinet=setter-a&amp;until=2025-12-31T08%3A41%3A00.000Z&amp;skip=1"));
  EXPECT_THAT(first, Not(HasSubstr("The newest</a>")));
  const std::string second =
      get("/history?cabinet=setter-a&until=2025-12-31T08%3A41%3A00.000Z&skip=1").body();
  EXPECT_EQ(site.looks_back.back(),
            (EventsWanted{"setter-a", "", test::at("2025-12-31T08:41:00Z"), 1, 50}));
  EXPECT_THAT(second, HasSubstr("The newest</a>"));
  EXPECT_THAT(second, Not(HasSubstr("Older ones</a>")));
  // More of one instant than one page holds: the next page passes over all that were shown.
  EXPECT_THAT(get("/api/events?skip=20001").body(), HasSubstr("expected a number from 0 to 20000"));
  EXPECT_EQ(get("/api/events?until=2026-03-01").status(), 400);
  EXPECT_THAT(get("/api/events").body(), HasSubstr("\"older\":\"/api/events?until="));
  EXPECT_THAT(get("/api/events").body(), HasSubstr("\"trouble\":null"));
}

}  // namespace
}  // namespace clutchward
