// Sends cabinets over their limit and notes when it is told of them, on …/events and by webhook:
//   alarms latency MQTT_PORT HTTP_PORT COUNT   one after the other; how long each took
//   alarms storm   MQTT_PORT HTTP_PORT COUNT   all at once; until all events are out, and whether
//                                              the webhooks of high ones came before the others
// Cabinets are c0 to c<COUNT-1>; in a storm the even ones pass the high limit, the odd ones a mild
// one. Exit 1 where something does not come within half a minute.
#include <set>

#include "bench.h"

namespace {

constexpr double kPatience = 30;  // generous: a slow disk under load

std::string topic_of(int cabinet, const char* probe = "top") {
  return "farm/c" + std::to_string(cabinet) + "/" + probe + "/temperature";
}

void publish(bench::Mqtt& mqtt, int cabinet, const char* value) {
  std::string packet;
  bench::Mqtt::append_publish(packet, topic_of(cabinet), value, 1);
  mqtt.send(packet);
}

const auto kIgnore = [](std::string_view, std::string_view) {};

int latency(bench::Mqtt& mqtt, bench::Receiver& receiver, int count) {
  std::vector<double> times;
  for (int i = 0; i < count; ++i) {
    const std::string wanted = "\"cabinet\":\"c" + std::to_string(i) + "\"";
    double arrived = 0;
    const double start = bench::seconds();
    publish(mqtt, i, "39.80");
    while (arrived == 0 && bench::seconds() - start < kPatience) {
      receiver.pump(100, mqtt.socket(), [&](std::string_view body) {
        if (arrived == 0 && body.find(wanted) != std::string_view::npos) arrived = bench::seconds();
      });
      while (mqtt.receive(0, kIgnore)) {
      }
    }
    if (arrived == 0) {
      std::fprintf(stderr, "alarms: no webhook for c%d\n", i);
      return 1;
    }
    times.push_back((arrived - start) * 1e3);
  }
  std::printf("{\"ms\":[");
  for (const double& time : times) std::printf(&time == &times[0] ? "%.4f" : ",%.4f", time);
  std::printf("]}\n");
  return 0;
}

// What the webhooks of a storm say, in the order in which they come.
struct Told {
  std::set<int> high;
  double last_high = 0;
  bool other_before_high = false;
  bool other = false;

  void take(std::string_view body) {
    if (body.find("\"urgency\":\"high\"") == std::string_view::npos) {
      other = true;
      return;
    }
    other_before_high = other_before_high || other;
    last_high = bench::seconds();
    static constexpr std::string_view kKey = "\"cabinet\":\"c";
    for (std::size_t at = body.find(kKey); at != std::string_view::npos; at = body.find(kKey, at)) {
      at += kKey.size();
      high.insert(std::atoi(std::string(body.substr(at, 8)).c_str()));
    }
  }
};

int storm(bench::Mqtt& mqtt, bench::Receiver& receiver, int count, bool webhooks) {
  mqtt.subscribe("clutchward/bench/events");
  std::string burst;
  for (int i = 0; i < count; ++i)
    for (const char* probe : {"top", "mid"})  // two of three: the median passes
      bench::Mqtt::append_publish(burst, topic_of(i, probe), i % 2 == 0 ? "39.80" : "39.00", 1);
  mqtt.send(burst);
  const double start = bench::seconds();
  std::set<std::string> raised;
  double all_raised = 0;
  Told told;
  const std::size_t high = static_cast<std::size_t>((count + 1) / 2);
  while (bench::seconds() - start < kPatience &&
         (all_raised == 0 || (webhooks && told.high.size() < high))) {
    while (mqtt.receive(0, [&](std::string_view, std::string_view event) {
      if (event.find("\"event\":\"raised\"") == std::string_view::npos) return;
      const std::size_t at = event.find("\"cabinet\":\"");
      raised.emplace(event.substr(at + 11, event.find('"', at + 11) - at - 11));
    })) {
    }
    if (all_raised == 0 && raised.size() == static_cast<std::size_t>(count))
      all_raised = bench::seconds();
    receiver.pump(10, mqtt.socket(), [&](std::string_view body) { told.take(body); });
  }
  if (all_raised == 0) {
    std::fprintf(stderr, "alarms: only %zu of %d were raised\n", raised.size(), count);
    return 1;
  }
  std::printf("{\"durable_s\":%.6f,\"high_told_s\":%.6f,\"high_told\":%zu,\"high_first\":%s}\n",
              all_raised - start, told.last_high > 0 ? told.last_high - start : 0.0,
              told.high.size(),
              told.high.size() == high && !told.other_before_high ? "true" : "false");
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 5) return 64;
  const std::string_view mode = argv[1];
  bench::Mqtt mqtt(std::atoi(argv[2]), "bench-alarms");
  bench::Receiver receiver(std::atoi(argv[3]));
  const int count = std::atoi(argv[4]);
  if (mode == "latency") return latency(mqtt, receiver, count);
  return storm(mqtt, receiver, count, mode == "storm");
}
