// How long 1,000 turns, each with one alarm's change and its outbox entry, take until all are
// durable, beside a loop that appends as many bytes with as many syncs:
//   store_turns FOLDER TURNS
#include <fcntl.h>

#include <atomic>
#include <filesystem>

#include "bench.h"
#include "loop/clocks.h"
#include "store/real_files.h"
#include "store/store.h"

namespace clutchward {
namespace {

class CountingFiles : public RealFiles {
 public:
  Written write(int file, std::string_view bytes) override {
    const Written written = RealFiles::write(file, bytes);
    bytes_ += written.bytes;
    return written;
  }
  Errno sync(int file) override {
    ++syncs_;
    return RealFiles::sync(file);
  }
  std::size_t bytes() const { return bytes_; }
  std::size_t syncs() const { return syncs_; }

 private:
  std::atomic<std::size_t> bytes_{0};
  std::atomic<std::size_t> syncs_{0};
};

std::vector<Change> turn_of(int number) {
  const std::string id = std::to_string(number);
  Tree alarm = Tree::map();
  alarm.add("rule", "high").add("state", "active").add("since", "2026-03-02T08:00:00.000Z");
  alarm.add("worst", "39.8");
  Tree entry = Tree::map();
  entry.add("contact", "mara").add("urgency", "high").add("first_line", "c" + id + " 39.8 C");
  entry.add("message", std::string(600, 'm')).add("made_at", "2026-03-02T08:00:00.000Z");
  std::vector<Change> changes;
  changes.push_back({"cabinets/c" + id, std::move(alarm)});
  changes.push_back({"outbox/msg-" + id, std::move(entry)});
  return changes;
}

double floor_seconds(const std::string& folder, std::size_t bytes, std::size_t syncs) {
  const int file = ::open((folder + "/floor").c_str(), O_WRONLY | O_CREAT | O_APPEND, 0600);
  if (file < 0) bench::die("floor");
  const std::string group(std::max<std::size_t>(1, bytes / syncs), 'x');
  const double start = bench::seconds();
  for (std::size_t i = 0; i < syncs; ++i)
    if (::write(file, group.data(), group.size()) < 0 || ::fdatasync(file) != 0)
      bench::die("append");
  const double took = bench::seconds() - start;
  ::close(file);
  return took;
}

int run(const std::string& folder, int turns) {
  CountingFiles disk;
  StoreOptions options;
  options.folder = folder + "/state";
  auto opened = Store::open(disk, options);
  if (!opened) {
    std::fprintf(stderr, "%s\n", opened.why().c_str());
    return 1;
  }
  Store& store = *opened->store;
  const std::size_t bytes = disk.bytes();
  const std::size_t syncs = disk.syncs();
  const double start = bench::seconds();
  for (int i = 1; i <= turns; ++i)
    store.submit(static_cast<std::uint64_t>(i), wall_now(), turn_of(i));
  const double submitted = bench::seconds();
  while (store.saved() < static_cast<std::uint64_t>(turns)) bench::readable(store.event(), 1);
  const double took = bench::seconds() - start;
  const std::size_t groups = std::max<std::size_t>(1, disk.syncs() - syncs);
  const double floor = floor_seconds(folder, disk.bytes() - bytes, groups);
  store.stop();
  std::printf("{\"seconds\":%.6f,\"submit_s\":%.6f,\"floor_s\":%.6f,\"syncs\":%zu}\n", took,
              submitted - start, floor, groups);
  return 0;
}

}  // namespace
}  // namespace clutchward

int main(int argc, char** argv) {
  if (argc != 3) return 64;
  return clutchward::run(argv[1], std::atoi(argv[2]));
}
