// The client against the real broker: what it hears, what it publishes, how it goes and comes back.
#include "ingest/mqtt_client.h"

#include "broker.h"

namespace clutchward::ingest_test {
namespace {

const std::string kStatus = "clutchward/saltmere/status";

int times(const std::string& text, std::string_view part) {
  int count = 0;
  for (std::size_t at = text.find(part); at != std::string::npos; at = text.find(part, at + 1))
    ++count;
  return count;
}

TEST(LibraryAddress, SaysThePortAndRefusesOtherSchemes) {
  EXPECT_EQ("tcp://barn:1883", library_address("mqtt://barn"));
  EXPECT_EQ("tcp://barn:1884", library_address("mqtt://barn:1884/"));
  EXPECT_EQ("ssl://barn:8883", library_address("mqtts://barn"));
  EXPECT_EQ("tcp://[::1]:1883", library_address("mqtt://[::1]"));
  EXPECT_EQ("tcp://[::1]:99", library_address("mqtt://[::1]:99"));
  EXPECT_EQ("", library_address("http://barn"));
  EXPECT_EQ("", library_address("mqtt://"));
  EXPECT_EQ("", library_address("mqtt://:1883"));
}

TEST(ResponseTopic, IsAllowedBelowTwoPrefixesOnly) {
  EXPECT_TRUE(response_topic_allowed("clutchward/saltmere", "clutchward/saltmere/reply/7"));
  EXPECT_TRUE(response_topic_allowed("clutchward/saltmere", "clients/mara/answers"));
  EXPECT_FALSE(response_topic_allowed("clutchward/saltmere", "clients/"));
  EXPECT_FALSE(response_topic_allowed("clutchward/saltmere", "clutchward/saltmere/status"));
  EXPECT_FALSE(response_topic_allowed("clutchward/saltmere", "clutchward/saltmere/reply/+"));
  EXPECT_FALSE(response_topic_allowed("clutchward/saltmere", "clients/#"));
  EXPECT_FALSE(response_topic_allowed("clutchward/saltmere", "farm/setter-a/top/temperature"));
  EXPECT_FALSE(response_topic_allowed("clutchward/saltmere", std::string("clients/a\0b", 11)));
  EXPECT_FALSE(response_topic_allowed("clutchward/saltmere", "clients/" + std::string(600, 'x')));
}

TEST(MqttClient, HearsReadingsAndSaysOnlineAndOffline) {
  const Broker broker;
  const Watcher watcher(broker, "clutchward/#");
  ASSERT_EQ(0, broker.publish("farm/setter-a/top/temperature", "36.0", {"-r"}));
  Listener listener(options_for(broker.url()));
  ASSERT_TRUE(watcher.sees(kStatus + " 0 online")) << listener.all() << broker.log();
  ASSERT_EQ(0, broker.publish("farm/setter-a/top/temperature", "37.5", {"-r"}));
  const Heard* old = listener.payload("36.0");
  ASSERT_NE(nullptr, old);
  EXPECT_TRUE(old->retained);
  EXPECT_EQ("farm/setter-a/top/temperature", old->topic);
  const Heard* live = listener.payload("37.5");
  ASSERT_NE(nullptr, live);
  EXPECT_FALSE(live->retained);
  EXPECT_EQ(Incoming::Kind::link, listener.heard().front().kind);
  EXPECT_EQ(LinkState::connected, listener.heard().front().link);
  EXPECT_EQ("MQTT 5", listener.heard().front().payload);
  EXPECT_TRUE(listener.client.connected());
  EXPECT_TRUE(listener.client.stop(Span{10'000}));
  EXPECT_TRUE(watcher.sees(kStatus + " 0 offline"));
  EXPECT_FALSE(listener.client.connected());
}

// Run by the test below in a process of its own, so that it can be killed.
TEST(Child, DISABLED_ConnectsAndWaits) {
  const char* url = std::getenv("CLUTCHWARD_TEST_URL");
  ASSERT_NE(nullptr, url);
  Listener listener(options_for(url));
  nap(30'000);
}

TEST(MqttClient, LeavesItsWillWhenItIsKilled) {
  const Broker broker;
  const Watcher watcher(broker, "clutchward/#");
  const pid_t child = spawn({"/proc/self/exe", "--gtest_also_run_disabled_tests",
                             "--gtest_filter=Child.DISABLED_ConnectsAndWaits"},
                            broker.dir() / "child", {{"CLUTCHWARD_TEST_URL", broker.url()}});
  EXPECT_TRUE(watcher.sees(kStatus + " 0 online"));
  EXPECT_EQ(0, watcher.count(kStatus + " 0 offline"));
  ::kill(child, SIGKILL);
  wait_exit(child);
  EXPECT_TRUE(watcher.sees(kStatus + " 0 offline"));
}

TEST(MqttClient, ComesBackAfterEachRestartAndSubscribesAgain) {
  Broker broker;
  Listener listener(options_for(broker.url()));
  ASSERT_TRUE(listener.sees(LinkState::connected));
  // Killed sooner, the broker would never have had the first one.
  ASSERT_TRUE(eventually([&] {
    return times(broker.log(), "'clutchward/saltmere/status', ... (6 bytes)") == 1;
  })) << broker.log();
  for (int cycle = 1; cycle <= 3; ++cycle) {
    broker.stop(SIGKILL);
    ASSERT_TRUE(listener.sees(LinkState::lost, cycle)) << listener.all();
    EXPECT_FALSE(listener.client.connected());
    const std::string event(10 + cycle, 'e');  // the log tells them apart by their length
    listener.client.publish("clutchward/saltmere/events", event);
    broker.start();
    ASSERT_TRUE(listener.sees(LinkState::connected, cycle + 1)) << listener.all();
    // Both of its filters: published sooner, the reading would find nobody.
    ASSERT_TRUE(listener.sees(LinkState::subscription_granted, 2 * (cycle + 1))) << listener.all();
    const std::string reading = "37." + std::to_string(cycle);
    ASSERT_EQ(0, broker.publish("farm/setter-a/top/temperature", reading));
    EXPECT_NE(nullptr, listener.payload(reading)) << listener.all();
    // Said while the broker was away, and sent once it was back: again where the broker was killed
    // before it had confirmed.
    const std::string sent =
        "'clutchward/saltmere/events', ... (" + std::to_string(event.size()) + " bytes)";
    EXPECT_TRUE(eventually([&] { return times(broker.log(), sent) >= 1; })) << broker.log();
    EXPECT_TRUE(eventually([&] {
      return times(broker.log(), "'clutchward/saltmere/status', ... (6 bytes)") == cycle + 1;
    })) << broker.log();
  }
  EXPECT_EQ(3, listener.links(LinkState::lost)) << listener.all();
  EXPECT_EQ(0, listener.links(LinkState::taken_over)) << listener.all();
}

// MQTT 5 confirms such a message with a reason of its own, which is no failure.
TEST(MqttClient, TakesAMessageWithoutListenersForSent) {
  const Broker broker;
  Listener listener(options_for(broker.url()));
  ASSERT_TRUE(listener.sees(LinkState::connected));
  listener.client.publish("clutchward/saltmere/events", "nobody listens");
  listener.client.publish_picture("clutchward/saltmere/cabinets/setter-a", "");
  ASSERT_TRUE(eventually([&] { return times(broker.log(), "Received PUBLISH") == 3; }));
  nap(300);
  EXPECT_EQ(0, listener.links(LinkState::lost)) << listener.all();
  EXPECT_EQ(3, times(broker.log(), "Received PUBLISH")) << broker.log();
  EXPECT_EQ(0u, listener.client.dropped());
  EXPECT_TRUE(listener.client.stop(Span{10'000}));
}

TEST(MqttClient, ReportsABadPassword) {
  const Broker broker("allow_anonymous false\n");
  MqttOptions options = options_for(broker.url());
  options.user = "mara";
  options.password = "wrong";
  Listener listener(options);
  const Heard* refused = listener.link(LinkState::refused);
  ASSERT_NE(nullptr, refused) << listener.all();
  EXPECT_EQ("the broker refused us: Not authorized", refused->payload) << broker.log();
  EXPECT_TRUE(listener.client.stop(Span{2000}));
}

// Mosquitto's access list file never refuses a SUBSCRIBE (it filters what is sent later); its own
// dynamic security plugin does.
TEST(MqttClient, ReportsWhatTheBrokerDoesNotAllow) {
  Broker broker("", false);
  broker.dir().write("dynsec.json", R"({"defaultACLAccess": {"publishClientSend": false,
    "publishClientReceive": true, "subscribe": false, "unsubscribe": true},
    "clients": [], "groups": [{"groupname": "all", "roles": [{"rolename": "own"}]}],
    "anonymousGroup": "all", "roles": [{"rolename": "own", "acls": [
      {"acltype": "publishClientSend", "topic": "clutchward/#", "allow": true},
      {"acltype": "subscribePattern", "topic": "clutchward/#", "allow": true}]}]})");
  broker.add("allow_anonymous true\nplugin " + security_plugin() + "\nplugin_opt_config_file " +
             (broker.dir() / "dynsec.json") + "\n");
  broker.start();
  Listener listener(options_for(broker.url()));
  const Heard* refused = listener.link(LinkState::subscription_refused);
  ASSERT_NE(nullptr, refused) << listener.all() << broker.log();
  EXPECT_EQ("farm/#", refused->topic);
  EXPECT_EQ("the broker refuses our subscription to farm/#", refused->payload);
  EXPECT_EQ(1, listener.links(LinkState::subscription_refused));
  listener.client.publish("secret/place", "x");
  const Heard* unpublished = listener.link(LinkState::publish_refused);
  ASSERT_NE(nullptr, unpublished) << listener.all() << broker.log();
  EXPECT_EQ("secret/place", unpublished->topic);
  EXPECT_EQ("the broker does not let us publish to secret/place", unpublished->payload);
  EXPECT_TRUE(listener.client.connected());
  EXPECT_EQ(1u, listener.client.dropped());
}

TEST(MqttClient, FollowsAChangeOfFilters) {
  const Broker broker;
  Listener listener(options_for(broker.url()));
  ASSERT_TRUE(listener.sees(LinkState::subscription_granted, 2));
  listener.client.subscribe_to({"barn/#"});
  ASSERT_TRUE(eventually([&] { return broker.log().find("barn/#") != std::string::npos; }));
  ASSERT_TRUE(eventually([&] { return broker.log().find("UNSUBACK") != std::string::npos; }));
  ASSERT_EQ(0, broker.publish("farm/x", "old place"));
  ASSERT_EQ(0, broker.publish("barn/x", "new place"));
  EXPECT_NE(nullptr, listener.payload("new place"));
  EXPECT_EQ(std::string::npos, listener.all().find("old place"));
}

TEST(MqttClient, AnswersAnMqtt5Request) {
  const Broker broker;
  Listener listener(options_for(broker.url()));
  ASSERT_TRUE(listener.sees(LinkState::connected));
  ASSERT_TRUE(eventually([&] { return broker.log().find("farm/#") != std::string::npos; }));
  const std::string answer = broker.dir() / "rr";
  const pid_t asker =
      spawn({"mosquitto_rr", "-V", "5", "-h", "127.0.0.1", "-p", std::to_string(broker.port()),
             "-t", "clutchward/saltmere/command", "-e", "clients/mara/answer", "-m",
             R"({"id":"1"})", "-D", "publish", "correlation-data", "c-17", "-W", "30"},
            answer);
  const Heard* command = listener.payload(R"({"id":"1"})");
  ASSERT_NE(nullptr, command) << listener.all();
  EXPECT_EQ(Incoming::Kind::command, command->kind);
  EXPECT_EQ("clients/mara/answer", command->response_topic);
  EXPECT_EQ("c-17", command->correlation);
  EXPECT_TRUE(listener.client.publish_response(command->response_topic, command->correlation,
                                               R"({"id":"1","ok":true})"));
  EXPECT_FALSE(listener.client.publish_response("farm/setter-a", "c-17", "x"));
  EXPECT_EQ(0, wait_exit(asker)) << contents(answer);
  EXPECT_EQ("{\"id\":\"1\",\"ok\":true}\n", contents(answer));
}

TEST(MqttClient, PublishesEventsInOrderAndPicturesOnlyAsTheNewest) {
  const Broker broker;
  const Watcher watcher(broker, "clutchward/#");
  Listener listener(options_for(broker.url()));
  ASSERT_TRUE(watcher.sees(kStatus + " 0 online"));
  const std::string picture = "clutchward/saltmere/cabinets/setter-a";
  const Steady begun = real_stamp().steady;
  for (int i = 1; i <= 100; ++i) {
    listener.client.publish("clutchward/saltmere/events", std::to_string(i));
    listener.client.publish_picture(picture, "p" + std::to_string(i));
    nap(3);
  }
  EXPECT_TRUE(watcher.sees(picture + " 0 p100"));
  EXPECT_TRUE(watcher.sees("clutchward/saltmere/events 0 100"));
  const Span took = real_stamp().steady - begun;
  int expected = 1;
  int pictures = 0;
  std::istringstream lines(watcher.text());
  for (std::string line; std::getline(lines, line);) {
    if (line.starts_with("clutchward/saltmere/events")) {
      EXPECT_EQ("clutchward/saltmere/events 0 " + std::to_string(expected++), line);
    }
    pictures += line.starts_with(picture);
  }
  EXPECT_EQ(101, expected);
  // The first at once, then at most one a second: two, but on a machine that took longer.
  EXPECT_LE(pictures, 1 + took / Span{1000}) << watcher.text();
  // Retained: whoever comes later sees the newest.
  const Watcher late(broker, picture);
  EXPECT_TRUE(late.sees(picture + " 1 p100"));
}

TEST(MqttClient, IsNotHeldUpByABrokerThatStands) {
  const Broker broker;
  Listener listener(options_for(broker.url()));
  ASSERT_TRUE(listener.sees(LinkState::connected));
  broker.signal(SIGSTOP);
  listener.client.publish("clutchward/saltmere/events", "nobody hears this");
  const Steady before = real_stamp().steady;
  listener.client.stop(Span{3000});
  EXPECT_LT(real_stamp().steady - before, Span{10'000});
  Listener second(options_for(broker.url()));
  nap(300);  // well inside the connect that gets no answer, which is given up after 5 s
  EXPECT_TRUE(second.client.stop(Span{4000}));
  broker.signal(SIGCONT);
}

TEST(MqttClient, ReportsThatNobodyListens) {
  Listener listener(options_for("mqtt://127.0.0.1:" + std::to_string(free_port())));
  const Heard* unreachable = listener.link(LinkState::unreachable);
  ASSERT_NE(nullptr, unreachable);
  EXPECT_EQ("no connection to the broker: TCP/TLS connect failure", unreachable->payload);
}

// Mosquitto 2.0.11 cuts the older of two clients without a word, so that only the pattern tells.
TEST(MqttClient, RecognisesThatSomebodyElseUsesItsClientId) {
  const Broker broker;
  Listener listener(options_for(broker.url()));
  const auto told = [&] { return listener.links(LinkState::taken_over) > 0; };
  // Four where each is cut while it is young; a busy machine may leave some of them for longer.
  for (int round = 1; round <= 12; ++round) {
    ASSERT_TRUE(eventually([&] { return told() || listener.links(LinkState::connected) >= round; }))
        << listener.all();
    if (told()) break;
    ASSERT_EQ(0, broker.publish("farm/x", "1", {"-i", "clutchward-test", "-V", "5"}));
  }
  const Heard* taken = listener.link(LinkState::taken_over);
  ASSERT_NE(nullptr, taken) << listener.all();
  EXPECT_EQ(
      "the link breaks right after each connect: another client may use our client id "
      "clutchward-test",
      taken->payload);
  const int connects = listener.links(LinkState::connected);
  EXPECT_GE(connects, 4) << listener.all();
  nap(1500);
  EXPECT_EQ(connects, listener.links(LinkState::connected)) << listener.all();
}

}  // namespace
}  // namespace clutchward::ingest_test
