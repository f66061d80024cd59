// What one unremarkable reading costs from topic to decision (look-up, parse, engine), in random
// order over all cabinets, beside a loop that only touches as many cache lines at random:
//   reading_cost CABINETS READINGS
// Three probes and one batch each. It prints nanoseconds of CPU a reading and the engine's memory.
#include <malloc.h>

#include <algorithm>

#include "bench.h"
#include "config/load.h"
#include "engine/engine.h"

namespace clutchward {
namespace {

constexpr int kProbes = 3;
// What a look-up in memory that is far larger than the cache cannot do without: the hash cell, the
// topic's entry, its text, the cabinet (two lines) and its probes.
constexpr int kLines = 6;
constexpr int kBlock = 10'000;  // readings between two looks at the clock

const char* const kConfig = R"(
site: Saltmere
broker: { url: "mqtt://127.0.0.1:1883", base: clutchward/bench }
patterns: [{ topic: "farm/{cabinet}/{probe}/temperature", quantity: temperature }]
max_cabinets: 1000000
profiles:
  bench-hen:
    name: Domestic hen
    days: 21
    stages: [{ name: setting, from_day: 0, target: 37.5, turn_every: off }]
)";

std::string topic_of(std::uint64_t source) {
  static const char* const probes[kProbes] = {"top", "mid", "low"};
  return "farm/cabinet-" + std::to_string(source / kProbes) + "/" + probes[source % kProbes] +
         "/temperature";
}

// Readings one behind the other, so that bringing them costs next to nothing.
struct Stream {
  std::string bytes;
  std::vector<std::pair<std::uint32_t, std::uint32_t>> topics;  // place, length; five of payload

  Stream(std::uint64_t sources, int readings) {
    bench::Random random;
    for (int i = 0; i < readings; ++i) {
      const std::string topic = topic_of(random.below(sources));
      topics.emplace_back(bytes.size(), topic.size());
      bytes += topic + "37." + std::to_string(40 + random.below(20));
    }
  }
};

// What is asked for and not given back: resident memory also has what a start needed for a moment.
std::size_t held_bytes() {
  const struct mallinfo2 memory = ::mallinfo2();
  return memory.uordblks + memory.hblkhd;
}

double floor_ns(std::uint64_t sources, int readings) {
  struct alignas(64) Line {
    std::uint64_t word[8];
  };
  const std::uint64_t count = std::max<std::uint64_t>(64, sources * kLines);
  std::vector<Line> lines(count, Line{});
  std::vector<std::uint32_t> order(static_cast<std::size_t>(readings) * kLines);
  bench::Random random;
  for (std::uint32_t& each : order) each = static_cast<std::uint32_t>(random.below(count));
  const double start = bench::seconds(CLOCK_PROCESS_CPUTIME_ID);
  for (const std::uint32_t each : order) ++lines[each].word[0];
  const double took = bench::seconds(CLOCK_PROCESS_CPUTIME_ID) - start;
  if (lines[order[0]].word[0] == 0) std::abort();
  return took / readings * 1e9;
}

void run(int cabinets, int readings) {
  Loaded loaded = parse_settings(kConfig, "bench.yaml");
  if (!loaded.problems.empty()) {
    std::fprintf(stderr, "%s\n", to_text(loaded.problems.front()).c_str());
    std::exit(1);
  }
  const Wall wall = *parse_rfc3339("2026-03-02T08:00:00Z");
  for (int i = 0; i < cabinets; ++i) {
    BatchSettings batch;
    batch.id = "hens-" + std::to_string(i);
    batch.profile = "bench-hen";
    batch.cabinet = "cabinet-" + std::to_string(i);
    batch.set_at = wall - std::chrono::days(5);
    loaded.settings.batches.push_back(std::move(batch));
  }
  const std::uint64_t sources = static_cast<std::uint64_t>(cabinets) * kProbes;
  const Stream stream(sources, readings);
  const double floor = floor_ns(sources, readings);
  const std::size_t before = held_bytes();
  Moment now{Steady{std::chrono::hours(1)}, wall, true};
  Engine engine(loaded.settings, Zone(), now, true);
  engine.begin();
  for (int round = 0; round < 2; ++round)
    for (std::uint64_t i = 0; i < sources; ++i) engine.message(topic_of(i), "37.5", false, now);
  engine.take_changes();
  engine.take_dirty_cabinets();
  const std::size_t after = held_bytes();

  double took = 0;
  for (int done = 0; done < readings; done += kBlock) {
    now.steady += Span{10};
    now.wall += Span{10};
    const double start = bench::seconds(CLOCK_PROCESS_CPUTIME_ID);
    for (int i = done; i < std::min(readings, done + kBlock); ++i) {
      const auto [at, length] = stream.topics[static_cast<std::size_t>(i)];
      const std::string_view bytes = stream.bytes;
      engine.message(bytes.substr(at, length), bytes.substr(at + length, 5), false, now);
    }
    took += bench::seconds(CLOCK_PROCESS_CPUTIME_ID) - start;
    engine.take_dirty_cabinets();  // the turn's, not the reading's
  }
  if (!engine.take_events().empty()) std::abort();
  if (engine.counts().accepted != sources * 2 + static_cast<std::uint64_t>(readings)) std::abort();
  std::printf("{\"ns\":%.2f,\"floor_ns\":%.2f,\"engine_bytes_per_cabinet\":%.0f}\n",
              took / readings * 1e9, floor, static_cast<double>(after - before) / cabinets);
}

}  // namespace
}  // namespace clutchward

int main(int argc, char** argv) {
  if (argc != 3) return 64;
  clutchward::run(std::atoi(argv[1]), std::atoi(argv[2]));
  return 0;
}
