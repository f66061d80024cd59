// What the hand-over alone costs, between the floor and the whole daemon: the daemon's own client,
// inbox and loop, with nothing behind them. Counts, and answers the last message of a flood.
//   hand_over mqtt://127.0.0.1:PORT
// Runs until it is terminated.
#include <cstdio>
#include <optional>
#include <string>

#include "ingest/inbox.h"
#include "ingest/mqtt_client.h"
#include "loop/clocks.h"
#include "loop/event_loop.h"

namespace clutchward {
namespace {

Stamp stamp() noexcept { return {steady_now(), wall_now()}; }

void run(const std::string& url) {
  EventLoop loop;
  Inbox inbox;
  loop.watch(inbox.descriptor());
  MqttOptions options;
  options.url = url;
  options.client_id = "bench-hand-over";
  options.base = "clutchward/bench";
  options.filters = {"farm/#", "meters/#"};
  MqttClient client(options, inbox, stamp);
  client.start();
  GatherPace pace;
  std::uint64_t bytes = 0;
  std::chrono::microseconds pause{0};
  for (;;) {
    std::optional<std::chrono::microseconds> at_most;
    if (pause.count() > 0)
      at_most = pause;
    else if (!inbox.arm())
      at_most = std::chrono::microseconds{0};
    if (loop.wait(std::nullopt, at_most).terminate) break;
    const Drained drained = inbox.drain();
    drained.for_each([&](const Incoming& item) {
      bytes += item.payload.size();
      if (item.kind != Incoming::Kind::reading || !item.topic.starts_with("farm/answer")) return;
      const std::string cabinet(item.topic.substr(5, item.topic.find('/', 5) - 5));
      client.publish("clutchward/bench/events", "{\"cabinet\":\"" + cabinet + "\"}");
    });
    pause = pace.after_drain(fine_now(), drained.size());
  }
  std::fprintf(stderr, "%llu bytes of payload\n", static_cast<unsigned long long>(bytes));
  client.stop(Span{1000});
}

}  // namespace
}  // namespace clutchward

int main(int argc, char** argv) {
  if (argc != 2) return 64;
  clutchward::run(argv[1]);
  return 0;
}
