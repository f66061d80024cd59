// A disk whose sync hangs, for the daemon alone: preloaded before the C library, it holds fsync and
// fdatasync for as long as the file named by SLOW_SYNC is there.
#include <dlfcn.h>
#include <unistd.h>

#include <cstdlib>

namespace {

int held(const char* name, int descriptor) {
  const char* gate = std::getenv("SLOW_SYNC");
  while (gate != nullptr && ::access(gate, F_OK) == 0) ::usleep(20'000);
  const auto real = reinterpret_cast<int (*)(int)>(::dlsym(RTLD_NEXT, name));
  return real(descriptor);
}

}  // namespace

extern "C" int fsync(int descriptor) { return held("fsync", descriptor); }
extern "C" int fdatasync(int descriptor) { return held("fdatasync", descriptor); }
