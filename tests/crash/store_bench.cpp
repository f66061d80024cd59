// How long the state takes: a storm of 1,000 alarms, one turn alone, a checkpoint, and a start with
// 10,000 cabinets. Prints numbers and judges nothing; not run by the tests.
#include <poll.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <filesystem>

#include "store/real_files.h"
#include "store/store.h"
#include "store/yaml_read.h"
#include "store/yaml_write.h"

namespace {

using namespace clutchward;
using Timer = std::chrono::steady_clock;

double ms_since(Timer::time_point start) {
  return std::chrono::duration<double, std::milli>(Timer::now() - start).count();
}

Tree alarm(std::uint64_t n) {
  Tree tree = Tree::map();
  tree.add("cabinet", "setter-" + std::to_string(n))
      .add("rule", "overheat")
      .add("priority", "high")
      .add("state", "raised")
      .add("since_wall", "2026-03-01T09:00:00.000Z")
      .add("since_steady", std::to_string(123456789 + n))
      .add("evidence", "38.9 above the limit of 38.4 for 5min at probe upper")
      .add("acknowledged_by", "")
      .add("notified", Tree::list().add(Tree("mara")).add(Tree("odile")).add(Tree("jonas")));
  return tree;
}

Tree cabinet(std::uint64_t n) {
  Tree tree = Tree::map();
  Tree probes = Tree::map();
  for (int i = 0; i < 4; ++i)
    probes.add("probe-" + std::to_string(i), Tree::map()
                                                 .add("last", "37.8")
                                                 .add("at", "2026-03-01T09:00:00.000Z")
                                                 .add("steady", std::to_string(123456789 + n))
                                                 .add("part", "air"));
  Tree conditions = Tree::map();
  for (int i = 0; i < 6; ++i)
    conditions.add("rule-" + std::to_string(i),
                   Tree::map().add("true_since", "2026-03-01T08:58:00.000Z").add("left", "2min"));
  tree.add("name", "Setter " + std::to_string(n)).add("batch", "geese-" + std::to_string(n));
  tree.add("set_at", "2026-02-20T07:00:00.000Z").add("probes", probes);
  return tree.add("conditions", conditions);
}

void wait_until_saved(Store& store, std::uint64_t turn) {
  while (store.saved() < turn) {
    pollfd event{store.event(), POLLIN, 0};
    ::poll(&event, 1, 1000);
    std::uint64_t count = 0;
    [[maybe_unused]] const ssize_t got = ::read(store.event(), &count, sizeof count);
  }
}

Store::Start open(RealFiles& disk, const std::string& folder) {
  StoreOptions options;
  options.folder = folder;
  auto start = Store::open(disk, options);
  if (!start) std::fprintf(stderr, "%s\n", start.why().c_str());
  if (!start) std::exit(1);
  return std::move(*start);
}

void storm(RealFiles& disk, const std::string& folder) {
  auto start = open(disk, folder);
  Store& store = *start.store;
  std::vector<double> single;
  std::uint64_t turn = 0;
  for (int i = 0; i < 50; ++i) {
    const auto begin = Timer::now();
    store.submit(++turn, Wall{}, {{"alarms/one", alarm(turn)}});
    wait_until_saved(store, turn);
    single.push_back(ms_since(begin));
  }
  std::sort(single.begin(), single.end());
  std::printf("one turn alone: median %.2f ms, worst of 50 %.2f ms\n", single[25], single[49]);
  for (int round = 0; round < 3; ++round) {
    const auto begin = Timer::now();
    for (int i = 0; i < 1000; ++i)
      store.submit(++turn, Wall{}, {{"alarms/" + std::to_string(i), alarm(turn)}});
    const double submitted = ms_since(begin);
    wait_until_saved(store, turn);
    std::printf("1,000 turns: submitted in %.2f ms, all saved after %.1f ms\n", submitted,
                ms_since(begin));
  }
  const auto begin = Timer::now();
  store.stop();
  std::printf("stop, with a checkpoint of 1,000 files: %.0f ms\n", ms_since(begin));
}

void outbox(RealFiles& disk, const std::string& folder, const char* prefix) {
  auto start = open(disk, folder);
  for (std::uint64_t i = 1; i <= 1000; ++i)
    start.store->submit(i, Wall{}, {{prefix + std::to_string(i), alarm(i)}});
  wait_until_saved(*start.store, 1000);
  const auto begin = Timer::now();
  start.store->stop();
  std::printf("checkpoint of 1,000 keys %s…: %.0f ms\n", prefix, ms_since(begin));
}

void cabinets(RealFiles& disk, const std::string& folder) {
  std::size_t bytes = 0;
  {
    auto start = open(disk, folder);
    for (std::uint64_t i = 1; i <= 10'000; ++i)
      start.store->submit(i, Wall{}, {{"cabinets/setter-" + std::to_string(i), cabinet(i)}});
    wait_until_saved(*start.store, 10'000);
    const auto begin = Timer::now();
    start.store->stop();
    std::printf("checkpoint of 10,000 cabinets: %.0f ms\n", ms_since(begin));
  }
  auto begin = Timer::now();
  auto start = open(disk, folder);
  std::printf("reading 10,000 cabinets back: %.0f ms (%zu entries)\n", ms_since(begin),
              start.kept.entries.size());
  std::string text;
  for (const auto& [key, value] : start.kept.entries[0].second.members)
    write_member(key, value, 0, text);
  bytes = text.size();
  begin = Timer::now();
  for (int i = 0; i < 1000; ++i) read_own_yaml(text);
  const double own = ms_since(begin);
  begin = Timer::now();
  for (int i = 0; i < 1000; ++i) read_any_yaml(text);
  std::printf("one cabinet of %zu bytes: %.1f us by the small reader, %.1f us by the library\n",
              bytes, own, ms_since(begin));
  for (int i = 0; i < 3; ++i) {
    begin = Timer::now();
    start.store->submit(20'000 + static_cast<std::uint64_t>(i), Wall{}, {{"alarms/one", alarm(1)}});
    wait_until_saved(*start.store, 20'000 + static_cast<std::uint64_t>(i));
    std::printf("one turn beside 10,000 cabinets: %.2f ms\n", ms_since(begin));
  }
}

}  // namespace

int main(int count, char** words) {
  const std::string root = std::string(count > 1 ? words[1] : "/tmp") + "/store-bench";
  RealFiles disk;
  std::filesystem::remove_all(root);
  storm(disk, root + "/storm");
  outbox(disk, root + "/grouped", "outbox/");
  outbox(disk, root + "/single", "letters/");
  cabinets(disk, root + "/cabinets");
  std::filesystem::remove_all(root);
}
