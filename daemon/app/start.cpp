// Start: the configuration first, the state second, the daemon last.
#include "app/start.h"

#include <malloc.h>
#include <sysexits.h>

#include <iostream>

#include "app/log.h"
#include "channel/catalogue.h"
#include "config/load.h"
#include "loop/zone_loader.h"
#include "notification/wake_table.h"
#include "store/real_files.h"

namespace clutchward {

int start_daemon(const DaemonOptions& options, bool only_check) {
  Loaded loaded = load_settings(options.config, options.profiles);
  for (const Problem& warning : loaded.warnings) std::cerr << to_text(warning) << " (a warning)\n";
  for (const Problem& problem : loaded.problems) std::cerr << to_text(problem) << '\n';
  if (!loaded.problems.empty()) return EX_CONFIG;
  auto zone = load_zone(loaded.settings.timezone);
  if (!zone) {
    std::cerr << options.config << ": " << zone.why() << '\n';
    return EX_CONFIG;
  }
  // No fault: a watch that cannot tell one person still watches, and tells the others.
  for (const std::string& fault : channel_faults(loaded.settings))
    std::cerr << options.config << ": " << fault << " (a warning)\n";
  if (only_check) {
    std::cout << options.config << ": no faults found\n\n" << wake_text(loaded.settings);
    return EX_OK;
  }
  mallopt(M_ARENA_MAX, 2);  // a dozen threads that seldom allocate need no heap each
  // Said, it stays: else one large block freed makes all large ones part of the heap.
  mallopt(M_MMAP_THRESHOLD, 256 * 1024);
  start_log();
  EventLoop loop;
  RealFiles disk;
  StoreOptions store_options;
  store_options.folder = options.state;
  auto store = Store::open(disk, store_options);
  if (!store) {
    spdlog::critical("the state folder cannot be used: {}", store.why());
    return EX_CANTCREAT;
  }
  DaemonOptions known = options;
  known.profile_files = std::move(loaded.profile_files);
  Daemon daemon(std::move(known), std::move(loaded.settings), *zone, loop, std::move(*store));
  return daemon.run();
}

}  // namespace clutchward
