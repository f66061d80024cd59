// The server through real sockets: who may do what where, limits, commands that wait, and clients
// that misbehave.
#include "web/server.h"

#include <gmock/gmock.h>
#include <sys/stat.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <set>

#include "base/limits.h"
#include "fake_site.h"
#include "raw_client.h"

namespace clutchward {
namespace {

using test::FakeSite;
using test::pump;
using test::RawClient;
using testing::HasSubstr;
using testing::StartsWith;

class Server : public testing::Test {
 protected:
  explicit Server(std::chrono::seconds idle = kHttpIdle) : server(site.door(), idle) {
    EXPECT_FALSE(server.serve_control(folder.path()));
    EXPECT_FALSE(server.serve_page("127.0.0.1:" + std::to_string(port)));
  }
  RawClient control() { return RawClient(control_socket_path(folder.path())); }
  RawClient network() { return RawClient(port); }

  RawClient ask(RawClient client, const std::string& request) {
    EXPECT_TRUE(client.connected());
    pump(server, 0);
    client.send(request);
    client.finish(server);
    return client;
  }
  RawClient get(const std::string& path) {
    return ask(network(), "GET " + path + " HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n");
  }
  static std::string post(const std::string& body, const std::string& path = "/api/command") {
    return "POST " + path +
           " HTTP/1.1\r\nHost: localhost\r\nContent-Length: " + std::to_string(body.size()) +
           "\r\n\r\n" + body;
  }
  void until(const std::function<bool()>& done) {
    for (int i = 0; i < 3000 && !done(); ++i) pump(server);
    EXPECT_TRUE(done());
  }

  FakeSite site;
  test::Folder folder;
  std::uint16_t port = test::free_port();
  WebServer server;
};

const std::string kAcknowledge =
    R"({"id":"c1","by":"mara","do":"acknowledge","cabinet":"setter-a","alarm":"high"})";

TEST_F(Server, EveryRouteAnswersByMethodAndEntrance) {
  struct Case {
    const char* method;
    const char* path;
    int control;
    int network;
    const char* allow;
  };
  site.answer_at_once = true;
  for (const Case& each : std::initializer_list<Case>{
           {"GET", "/", 200, 200, ""},
           {"HEAD", "/", 200, 200, ""},
           {"POST", "/", 405, 405, "GET, HEAD"},
           {"GET", "/style.css", 200, 200, ""},
           {"GET", "/api/cabinets", 200, 200, ""},
           {"DELETE", "/api/cabinets", 405, 405, "GET, HEAD"},
           {"OPTIONS", "/api/cabinets", 405, 405, "GET, HEAD"},
           {"GET", "/api/cabinets/setter-a", 200, 200, ""},
           {"GET", "/api/cabinets/setter-z", 404, 404, ""},
           {"GET", "/api/cabinets/", 404, 404, ""},
           {"GET", "/api/cabinets/%00", 400, 400, ""},
           {"GET", "/api/cabinets/%zz", 400, 400, ""},
           {"GET", "/api/cabinets/%ff", 400, 400, ""},
           {"GET", "/api/watch", 200, 404, ""},
           {"GET", "/metrics", 200, 200, ""},
           {"GET", "/api/command", 405, 405, "POST"},
           {"POST", "/api/command", 200, 403, ""},
           {"GET", "/favicon.ico", 404, 404, ""},
           {"POST", "/nowhere", 404, 404, ""},
           {"GET", "/../etc/passwd", 404, 404, ""},
       }) {
    const std::string body = std::string(each.method) == "POST" ? R"({"do":"turned"})" : "";
    const std::string request =
        std::string(each.method) + " " + each.path +
        " HTTP/1.1\r\nHost: localhost:1\r\nContent-Length: " + std::to_string(body.size()) +
        "\r\n\r\n" + body;
    SCOPED_TRACE(std::string(each.method) + " " + each.path);
    const RawClient over_control = ask(control(), request);
    const RawClient over_network = ask(network(), request);
    EXPECT_EQ(over_control.status(), each.control);
    EXPECT_EQ(over_network.status(), each.network);
    EXPECT_EQ(over_network.header("Allow"), each.network == 405 ? each.allow : "");
    for (const RawClient* client : {&over_control, &over_network}) {
      EXPECT_EQ(client->header("X-Content-Type-Options"), "nosniff");
      EXPECT_EQ(client->header("Referrer-Policy"), "same-origin");
      EXPECT_EQ(client->header("Cache-Control"), "no-store");
      EXPECT_EQ(client->header("Content-Security-Policy"),
                "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; "
                "connect-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors "
                "'none'");
      EXPECT_TRUE(client->closed());
    }
  }
}

TEST_F(Server, HeadHasTheHeadersAndNoBody) {
  const RawClient client = ask(network(), "HEAD / HTTP/1.1\r\nHost: [::1]:80\r\n\r\n");
  EXPECT_EQ(client.status(), 200);
  EXPECT_EQ(client.body(), "");
  EXPECT_GT(std::stoul(client.header("Content-Length")), 1000U);
}

TEST_F(Server, CabinetsAreTheirPictures) {
  const auto all = nlohmann::json::parse(get("/api/cabinets").body());
  ASSERT_EQ(all.size(), 5U);
  const auto one = nlohmann::json::parse(get("/api/cabinets/setter%2Da").body());
  EXPECT_EQ(one["cabinet"], "setter-a");
  EXPECT_EQ(one["temperature"], 39.8);
  EXPECT_EQ(one["alarms"][0]["kind"], "above");
  EXPECT_EQ(one["alarms"][0]["quantity"], "temperature");
  std::vector<std::string> ids;
  for (const auto& each : all) ids.push_back(each["cabinet"]);
  EXPECT_TRUE(std::is_sorted(ids.begin(), ids.end()));
  EXPECT_EQ(std::count(all.begin(), all.end(), one), 1);
}

TEST_F(Server, ThousandsOfCabinetsAreEachThereOnceAndById) {
  CabinetView like = site.cabinets.front();
  std::vector<std::string> wanted;
  site.cabinets.clear();
  for (int i = 0; i < 1'203; ++i) {
    like.id = "c" + std::to_string(i);
    wanted.push_back(like.id);
    site.cabinets.push_back(like);
  }
  std::sort(wanted.begin(), wanted.end());
  std::vector<std::string> found;
  for (const auto& each : nlohmann::json::parse(get("/api/cabinets").body()))
    found.push_back(each["cabinet"]);
  EXPECT_EQ(found, wanted);
}

TEST_F(Server, NoCommandComesOverTheNetwork) {
  const RawClient client = ask(network(), post(kAcknowledge));
  EXPECT_EQ(client.body(),
            "Commands over the network need settings that say who may give them: people with a "
            "passphrase, or page.trust_loopback for this machine. Use MQTT or the keeper's command "
            "(clutchward) on the machine itself.\n");
  EXPECT_TRUE(site.commands.empty());
}

TEST_F(Server, CommandWaitsForItsOutcome) {
  RawClient client = control();
  client.send(post(kAcknowledge));
  until([&] { return site.commands.size() == 1; });
  for (int i = 0; i < 5; ++i) pump(server, 1);
  client.read();
  EXPECT_EQ(client.received(), "");
  EXPECT_EQ(site.commands[0].first.cabinet, "setter-a");
  EXPECT_EQ(get("/api/cabinets").status(), 200) << "others are served meanwhile";
  site.commands[0].second({"c1", true, ""});
  client.finish(server);
  EXPECT_EQ(client.status(), 200);
  EXPECT_EQ(client.body(), "{\"id\":\"c1\",\"ok\":true}\n");
}

TEST_F(Server, RefusedCommandIs409AndUnreadableIs400) {
  RawClient client = control();
  client.send(post(kAcknowledge));
  until([&] { return site.commands.size() == 1; });
  site.commands[0].second({"c1", false, "nothing to acknowledge"});
  client.finish(server);
  EXPECT_EQ(client.status(), 409);
  EXPECT_EQ(client.body(), "{\"id\":\"c1\",\"ok\":false,\"why\":\"nothing to acknowledge\"}\n");

  const RawClient unreadable = ask(control(), post(R"({"id":"c2","do":"akcnowledge"})"));
  EXPECT_EQ(unreadable.status(), 400);
  const auto reply = nlohmann::json::parse(unreadable.body());
  EXPECT_EQ(reply["id"], "c2");
  EXPECT_THAT(reply["why"].get<std::string>(), HasSubstr("did you mean \"acknowledge\"?"));
  EXPECT_EQ(ask(control(), post("")).status(), 400);
  EXPECT_EQ(site.commands.size(), 1U);
}

TEST_F(Server, AnswerWithinTheCallNeedsNoWaiting) {
  site.answer_at_once = true;
  EXPECT_EQ(ask(control(), post(kAcknowledge)).status(), 200);
}

TEST_F(Server, ClientThatLeftBeforeTheOutcomeIsForgotten) {
  RawClient client = control();
  client.send(post(kAcknowledge));
  until([&] { return site.commands.size() == 1; });
  client.hang_up();
  for (int i = 0; i < 5; ++i) pump(server, 1);
  site.commands[0].second({"c1", true, ""});
  for (int i = 0; i < 5; ++i) pump(server, 1);
  site.commands[0].second({"c1", true, ""});  // a second answer finds nobody
  EXPECT_EQ(get("/").status(), 200);
}

TEST_F(Server, TooManyWaitingCommandsAreAskedToComeAgain) {
  std::vector<RawClient> clients;
  for (std::size_t i = 0; i < limits::kHttpWaitingCommands; ++i) {
    clients.push_back(control());
    clients.back().send(post(kAcknowledge));
    pump(server, 0);
  }
  until([&] { return site.commands.size() == limits::kHttpWaitingCommands; });
  const RawClient late = ask(control(), post(kAcknowledge));
  EXPECT_EQ(late.status(), 503);
  EXPECT_EQ(late.header("Retry-After"), "5");
  EXPECT_EQ(ask(control(), "GET /api/watch HTTP/1.1\r\nHost: x\r\n\r\n").status(), 200);
  for (const auto& [command, reply] : site.commands) reply({command.id, true, ""});
  for (RawClient& client : clients) {
    client.finish(server);
    EXPECT_EQ(client.status(), 200);
  }
  EXPECT_EQ(site.commands.size(), limits::kHttpWaitingCommands);
}

TEST(ServerEnd, WaitingCommandIsAnsweredAndLateOutcomeFindsNobody) {
  FakeSite site;
  test::Folder folder;
  auto server = std::make_unique<WebServer>(site.door());
  ASSERT_FALSE(server->serve_control(folder.path()));
  RawClient client(control_socket_path(folder.path()));
  client.send(
      "POST /api/command HTTP/1.1\r\nHost: x\r\nContent-Length: 15\r\n\r\n{\"do\":\"turned\"}");
  for (int i = 0; i < 3000 && site.commands.empty(); ++i) pump(*server);
  ASSERT_EQ(site.commands.size(), 1U);
  server.reset();
  client.read();
  EXPECT_EQ(client.status(), 503);
  site.commands[0].second({"", true, ""});
  struct stat there {};
  EXPECT_NE(::stat(control_socket_path(folder.path()).c_str(), &there), 0);
}

TEST_F(Server, FramingThatCanBeReadTwoWaysIsRefused) {
  for (const char* headers :
       {"Transfer-Encoding: chunked\r\n", "Content-Length: 2\r\nTransfer-Encoding: chunked\r\n",
        "Transfer-Encoding: identity\r\n", "Content-Length: 2\r\nContent-Length: 2\r\n",
        "Content-Length: 2\r\nContent-Length: 3\r\n", "Content-Length: +2\r\n",
        "Content-Length: 2, 2\r\n", "Content-Length: 0x2\r\n", "Content-Length: -2\r\n",
        "Content-Length: 2 2\r\n", "Content-Length:\r\n",
        "Content-Length: 99999999999999999999999\r\n"}) {
    SCOPED_TRACE(headers);
    const RawClient client =
        ask(control(), std::string("POST /api/command HTTP/1.1\r\nHost: x\r\n") + headers +
                           "\r\n{}GET / HTTP/1.1\r\nHost: x\r\n\r\n");
    EXPECT_THAT(client.status(), testing::AnyOf(400, 413));
    // The library writes the head of its own refusals twice; what must not come is an answer to
    // what follows the request.
    EXPECT_EQ(client.received().find("HTTP/1.1 2"), std::string::npos);
    EXPECT_EQ(client.received().find("HTTP/1.1 404"), std::string::npos);
    EXPECT_TRUE(client.closed());
  }
  EXPECT_TRUE(site.commands.empty());
}

TEST_F(Server, OneRequestAConnection) {
  const RawClient client =
      ask(network(),
          "GET /style.css HTTP/1.1\r\nHost: localhost\r\n\r\nGET / HTTP/1.1\r\nHost: x\r\n\r\n");
  EXPECT_EQ(client.header("Connection"), "close");
  EXPECT_EQ(client.received().find("HTTP/1.1 ", 1), std::string::npos);
}

TEST_F(Server, HostMustBeAnAddressOrLocalhost) {
  for (const char* host :
       {"localhost", "LOCALHOST:8742", "127.0.0.1", "192.168.1.7:8742", "[::1]", "[fe80::1]:8742"})
    EXPECT_EQ(ask(network(), std::string("GET / HTTP/1.1\r\nHost: ") + host + "\r\n\r\n").status(),
              200)
        << host;
  for (const char* host :
       {"eggs.example", "127.0.0.1.example", "localhost.example", "[::1", "::1", "127.0.0.1:80:80",
        "local host", "127.0.0.1@eggs.example", "127.0.0.1:123456", "[::1]:123456"})
    EXPECT_EQ(ask(network(), std::string("GET / HTTP/1.1\r\nHost: ") + host + "\r\n\r\n").status(),
              421)
        << host;
  EXPECT_EQ(ask(network(), "GET / HTTP/1.1\r\n\r\n").status(), 400);
  EXPECT_EQ(ask(network(), "GET / HTTP/1.1\r\nHost: localhost\r\nHost: localhost\r\n\r\n").status(),
            400);
}

TEST_F(Server, CardOfAnAddressThatNoCodeHoldsIsRefusedAndTheWatchGoesOn) {
  const std::string host(4000, 'x');  // of the control socket none is asked for
  const RawClient refused =
      ask(control(), "GET /cards/setter-a HTTP/1.1\r\nHost: " + host + "\r\n\r\n");
  EXPECT_EQ(refused.status(), 400);
  EXPECT_NE(refused.body().find("at most 512"), std::string::npos) << refused.body();
  EXPECT_EQ(ask(control(), "GET /cards/setter-a HTTP/1.1\r\nHost: x\r\n\r\n").status(), 200);
}

TEST_F(Server, AFaultInAnAnswerEndsThatRequestAlone) {
  site.fails = true;
  EXPECT_EQ(ask(control(), "GET /api/watch HTTP/1.1\r\nHost: x\r\n\r\n").status(), 500);
  site.fails = false;
  EXPECT_EQ(ask(control(), "GET /api/watch HTTP/1.1\r\nHost: x\r\n\r\n").status(), 200);
}

TEST_F(Server, OversizedBodyIsRefused) {
  const RawClient some = ask(control(), post(std::string(limits::kHttpBodyBytes + 1, ' ')));
  EXPECT_EQ(some.status(), 413);
  EXPECT_EQ(some.body(), "The body has 8193 bytes; expected at most 8192.\n");
  const RawClient announced =
      ask(control(), "POST /api/command HTTP/1.1\r\nHost: x\r\nContent-Length: 1000000000\r\n\r\n");
  EXPECT_EQ(announced.status(), 413);
  EXPECT_TRUE(site.commands.empty());
}

TEST_F(Server, EndlessHeaderIsCutOff) {
  for (const char* start : {"GET / HTTP/1.1\r\nHost: localhost\r\nX: ", "GET /"}) {
    RawClient client = network();
    pump(server, 0);
    client.send(start);
    std::size_t taken = 0;
    for (int i = 0; i < 4000 && !client.closed(); ++i) {
      taken += client.send(std::string(1024, 'a'));
      pump(server, 0);
      client.read();
    }
    EXPECT_TRUE(client.closed());
    EXPECT_GE(client.status(), 400);
    // What the kernel's buffers take counts too.
    EXPECT_LT(taken, 8U * 1024 * 1024);
  }
}

TEST_F(Server, ConnectionsOfOneAddressAreBounded) {
  std::vector<RawClient> clients;
  for (int i = 0; i < 100; ++i) {
    clients.push_back(network());
    pump(server, 0);
  }
  const auto as_many = [&clients] {
    for (RawClient& client : clients) client.read();
    return std::count_if(clients.begin(), clients.end(), [](const RawClient& client) {
             return !client.closed();
           }) == static_cast<long>(limits::kHttpConnectionsPerAddress);
  };
  until(as_many);
  for (int i = 0; i < 50; ++i) pump(server, 1);
  EXPECT_TRUE(as_many());  // and no fewer
  // The keeper's command comes through all the same; and the page, once they are gone.
  EXPECT_EQ(ask(control(), "GET /api/watch HTTP/1.1\r\nHost: x\r\n\r\n").status(), 200);
  clients.clear();
  until([&] { return get("/").status() == 200; });
}

TEST_F(Server, HundredConnectionsOfTheKeeperAreServed) {
  std::vector<RawClient> clients;
  for (int i = 0; i < 100; ++i) {
    clients.push_back(control());
    pump(server, 0);
    clients.back().send("GET /metrics HTTP/1.1\r\nHost: x\r\n\r\n");
  }
  for (RawClient& client : clients) {
    client.finish(server);
    EXPECT_EQ(client.status(), 200);
  }
}

class ImpatientServer : public Server {
 protected:
  ImpatientServer() : Server(std::chrono::seconds{3}) {}
};

TEST_F(ImpatientServer, SlowClientIsClosedAndTheWaitingOneIsNot) {
  RawClient waiting = control();
  waiting.send(post(kAcknowledge));
  until([&] { return site.commands.size() == 1; });
  RawClient slow = network();
  slow.send("GET / HT");
  slow.finish(server);
  EXPECT_TRUE(slow.closed());
  waiting.read();
  EXPECT_FALSE(waiting.closed()) << "its answer is the daemon's to give";
  site.commands[0].second({"c1", true, ""});
  waiting.finish(server);
  EXPECT_EQ(waiting.status(), 200);
}

TEST_F(Server, ClientThatSendsByteByByteIsServed) {
  RawClient client = control();
  for (const char byte : post(kAcknowledge)) {
    client.send(std::string(1, byte));
    pump(server, 0);
  }
  until([&] { return site.commands.size() == 1; });
  EXPECT_EQ(site.commands[0].first.alarm, "high");
}

TEST_F(Server, ListensElsewhereWhenTold) {
  const std::uint16_t other = test::free_port();
  ASSERT_FALSE(server.serve_page("127.0.0.1:" + std::to_string(other)));
  EXPECT_EQ(ask(RawClient(other), "GET / HTTP/1.1\r\nHost: localhost\r\n\r\n").status(), 200);
  const auto refusal = server.serve_page("192.0.2.1:80");
  ASSERT_TRUE(refusal);
  EXPECT_EQ(refusal->why, "page.listen 192.0.2.1:80: Cannot assign requested address");
  EXPECT_EQ(ask(RawClient(other), "GET / HTTP/1.1\r\nHost: localhost\r\n\r\n").status(), 200);
  ASSERT_FALSE(server.serve_page(""));
  RawClient gone(other);
  gone.finish(server, 3);
  EXPECT_TRUE(gone.closed());
}

TEST_F(Server, NothingToDoMeansNoTimeout) {
  for (int i = 0; i < 5; ++i) server.turn();
  EXPECT_EQ(server.timeout(), std::nullopt);
}

}  // namespace
}  // namespace clutchward
