// GMime is readied once, by whoever comes first.
#include "channel/gmime_door.h"

namespace clutchward {

std::unique_lock<std::mutex> enter_gmime() {
  static std::mutex mutex;
  std::unique_lock lock(mutex);
  static const bool ready = [] {
    g_mime_init();
    return true;
  }();
  static_cast<void>(ready);
  return lock;
}

}  // namespace clutchward
