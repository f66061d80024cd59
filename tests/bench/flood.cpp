// Publishes a bounded number of readings as fast as the broker takes them and waits until whoever
// subscribes has seen the last one, which is an alarm of its own cabinet:
//   flood PORT COUNT QOS plain|json CABINETS SENTINEL TIMEOUT_SECONDS
// Values stay inside the band but for one in 20,000. It prints the seconds from the first message
// to the answer to the last; exit 1 where no answer comes.
#include "bench.h"

namespace {

std::string payload(bool json, const char* value) {
  if (!json) return value;
  std::string text = std::string("{\"outer\":{\"temperature\":") + value +
                     ",\"humidity\":55.1},\"battery\":{\"volts\":3.012,\"percent\":87},"
                     "\"radio\":{\"rssi\":-71,\"snr\":9.5,\"channel\":5},\"firmware\":\"2.4.1\","
                     "\"serial\":\"S-0412-7781\",\"note\":\"";
  text.append(200 - text.size() - 2, '.');
  return text + "\"}";
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 8) return 64;
  const int count = std::atoi(argv[2]);
  const int qos = std::atoi(argv[3]);
  const bool json = std::string_view(argv[4]) == "json";
  const int cabinets = std::atoi(argv[5]);
  const std::string sentinel = argv[6];
  const double timeout = std::atof(argv[7]);

  static constexpr int kProbes = 3;
  static constexpr int kAlarmEvery = 20'000;
  const char* const probes[kProbes] = {"top", "mid", "low"};
  std::vector<std::string> chunks(1);
  bench::Random random;
  for (int i = 0; i < count; ++i) {
    char topic[64];
    std::snprintf(topic, sizeof topic, json ? "meters/c%d/%s" : "farm/c%d/%s/temperature",
                  i / kProbes % cabinets, probes[i % kProbes]);
    char value[16];
    std::snprintf(value, sizeof value, "37.%02d", static_cast<int>(40 + random.below(20)));
    const bool alarm = i % kAlarmEvery == kAlarmEvery - 1;
    if (chunks.back().size() > 16384) chunks.emplace_back();
    bench::Mqtt::append_publish(chunks.back(), topic, payload(json, alarm ? "41.50" : value), qos);
  }
  bench::Mqtt::append_publish(chunks.back(), "farm/" + sentinel + "/top/temperature", "41.50", qos);

  bench::Mqtt mqtt(std::atoi(argv[1]), "bench-flood");
  mqtt.subscribe("clutchward/bench/events");
  const std::string wanted = "\"cabinet\":\"" + sentinel + "\"";
  bool seen = false;
  const auto look = [&](std::string_view, std::string_view event) {
    seen = seen || event.find(wanted) != std::string_view::npos;
  };
  const double start = bench::seconds();
  for (const std::string& chunk : chunks) {
    mqtt.send(chunk);
    while (mqtt.receive(0, look)) {
    }
  }
  while (!seen && bench::seconds() - start < timeout) mqtt.receive(50, look);
  const double took = bench::seconds() - start;
  if (!seen) return 1;
  std::printf("{\"seconds\":%.6f,\"messages\":%d}\n", took, count + 1);
  return 0;
}
