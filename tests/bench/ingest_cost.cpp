// What the hand-over costs: CPU a message and rate of a subscriber that only counts in the
// library's handler ("floor") and of the daemon's own client, inbox and loop ("inbox"), one a
// process. Run both in turn against the same flooded broker and compare:
//   ingest_cost floor|inbox mqtt://127.0.0.1:PORT SECONDS
// It prints one JSON object; "quiet" messages before the flood are not counted.
#include <mqtt/async_client.h>
#include <sys/resource.h>

#include <atomic>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <thread>

#include "ingest/inbox.h"
#include "ingest/mqtt_client.h"
#include "loop/clocks.h"
#include "loop/event_loop.h"

namespace clutchward {
namespace {

Stamp stamp() noexcept { return {steady_now(), wall_now()}; }

double cpu_seconds() {
  rusage usage{};
  ::getrusage(RUSAGE_SELF, &usage);
  const auto seconds = [](const timeval& t) {
    return static_cast<double>(t.tv_sec) + static_cast<double>(t.tv_usec) / 1e6;
  };
  return seconds(usage.ru_utime) + seconds(usage.ru_stime);
}

void report(const char* mode, std::uint64_t messages, double cpu, double wall,
            std::uint64_t dropped) {
  std::printf(
      "{\"mode\":\"%s\",\"messages\":%llu,\"cpu_us_per_message\":%.3f,\"per_second\":%.0f,"
      "\"dropped\":%llu}\n",
      mode, static_cast<unsigned long long>(messages), cpu / static_cast<double>(messages) * 1e6,
      static_cast<double>(messages) / wall, static_cast<unsigned long long>(dropped));
}

double seconds_between(std::chrono::microseconds from, std::chrono::microseconds to) {
  return static_cast<double>((to - from).count()) / 1e6;
}

void floor(const std::string& url, int seconds) {
  std::atomic<std::uint64_t> count{0};
  mqtt::async_client client(library_address(url), "bench-floor", mqtt::create_options(5));
  client.set_message_callback(
      [&count](mqtt::const_message_ptr) { count.fetch_add(1, std::memory_order_relaxed); });
  mqtt::connect_options options;
  options.set_mqtt_version(5);
  options.set_clean_start(true);
  client.connect(options)->wait();
  client.subscribe("farm/#", 1)->wait();
  while (count < 1000) std::this_thread::sleep_for(Span{1});
  const std::uint64_t first = count;
  const double cpu = cpu_seconds();
  const auto start = fine_now();
  std::this_thread::sleep_for(std::chrono::seconds(seconds));
  report("floor", count - first, cpu_seconds() - cpu, seconds_between(start, fine_now()), 0);
  client.disconnect(0)->wait_for(1000);
}

void inbox(const std::string& url, int seconds) {
  EventLoop loop;
  Inbox inbox;
  loop.watch(inbox.descriptor());
  MqttOptions options;
  options.url = url;
  options.client_id = "bench-inbox";
  options.base = "clutchward/bench";
  options.filters = {"farm/#"};
  MqttClient client(options, inbox, stamp);
  client.start();
  GatherPace pace;
  std::uint64_t count = 0;
  std::uint64_t bytes = 0;
  std::uint64_t first = 0;
  double cpu = 0;
  std::chrono::microseconds start{0};
  std::chrono::microseconds pause{0};
  for (;;) {
    if (pause.count() > 0)
      loop.wait(std::nullopt, pause);
    else if (inbox.arm())
      loop.wait(steady_now() + Span{1000});
    else
      loop.wait(std::nullopt, std::chrono::microseconds{0});
    const Drained drained = inbox.drain();
    drained.for_each([&](const Incoming& item) {
      ++count;
      bytes += item.topic.size() + item.payload.size();
    });
    const auto now = fine_now();
    pause = pace.after_drain(now, drained.size());
    if (start.count() == 0 && count >= 1000) {
      start = now;
      first = count;
      cpu = cpu_seconds();
    } else if (start.count() != 0 && now - start >= std::chrono::seconds(seconds)) {
      report("inbox", count - first, cpu_seconds() - cpu, seconds_between(start, now),
             inbox.dropped_readings());
      client.stop(Span{1000});
      std::fprintf(stderr, "%llu bytes\n", static_cast<unsigned long long>(bytes));
      return;
    }
  }
}

}  // namespace
}  // namespace clutchward

int main(int argc, char** argv) {
  if (argc != 4) return 64;
  const std::string mode = argv[1];
  if (mode == "floor")
    clutchward::floor(argv[2], std::atoi(argv[3]));
  else
    clutchward::inbox(argv[2], std::atoi(argv[3]));
  return 0;
}
