// Drives the real store on the real file system, for prefixes.py and faults.py, which watch its
// system calls: says on standard output what it is about to hand over ("attempted n") and what has
// been acknowledged ("acknowledged n"). With --no-fsync the syncs do nothing: the tests must
// notice.
#include <poll.h>
#include <unistd.h>

#include <cstring>
#include <string>

#include "store/real_files.h"
#include "store/store.h"
#include "workload.h"

namespace {

struct Unsynced : clutchward::RealFiles {
  clutchward::Errno sync(int) override { return 0; }
  clutchward::Errno sync_all(int) override { return 0; }
  clutchward::Errno sync_folder(const std::string&) override { return 0; }
};

void say(const std::string& word, std::uint64_t turn) {
  const std::string line = word + " " + std::to_string(turn) + "\n";
  [[maybe_unused]] const ssize_t written = ::write(STDOUT_FILENO, line.data(), line.size());
}

}  // namespace

int main(int count, char** words) {
  using namespace clutchward;
  if (count < 3) return 2;
  const std::uint64_t turns = std::stoull(words[2]);
  RealFiles real;
  Unsynced unsynced;
  const bool no_fsync = count > 3 && std::strcmp(words[3], "--no-fsync") == 0;
  StoreOptions options;
  options.folder = words[1];
  options.journal_bytes = 4 * 1024;
  auto start = Store::open(no_fsync ? unsynced : real, options);
  if (!start) {
    const std::string line = "refused " + start.why() + "\n";
    [[maybe_unused]] const ssize_t written = ::write(STDERR_FILENO, line.data(), line.size());
    return 1;
  }
  Store& store = *start->store;
  std::uint64_t told = start->kept.sequence;
  const std::uint64_t last = told + turns;
  for (std::uint64_t turn = told + 1; turn <= last; ++turn) {
    say("attempted", turn);
    store.submit(turn, workload::at_of(turn), workload::changes_of(turn));
    // Every third turn is waited for (a few seconds at most: the disk may be made to fail for
    // good), so that there are groups of one and of several.
    for (int tries = 0; turn % 3 == 0 && store.saved() < turn && tries < 40; ++tries) {
      pollfd event{store.event(), POLLIN, 0};
      ::poll(&event, 1, 100);
      std::uint64_t times = 0;
      [[maybe_unused]] const ssize_t got = ::read(store.event(), &times, sizeof times);
    }
    if (store.saved() > told) say("acknowledged", told = store.saved());
  }
  store.stop();
  if (store.saved() > told) say("acknowledged", store.saved());
  return 0;
}
