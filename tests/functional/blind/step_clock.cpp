// A wall clock that can be stepped, for the daemon alone: preloaded before the C library, it adds
// the seconds that stand in the file named by STEP_CLOCK (eight bytes, native order) to every look
// at CLOCK_REALTIME. Debian's faketime does not know CLOCK_BOOTTIME, which our delays run on; the
// system's own clock is nobody's to set in a test.
#include <dlfcn.h>
#include <fcntl.h>
#include <pthread.h>
#include <sys/mman.h>
#include <sys/syscall.h>
#include <sys/time.h>
#include <time.h>
#include <unistd.h>

#include <cstdint>
#include <cstdlib>

namespace {

std::int64_t offset() {
  static const volatile std::int64_t* const seconds = [] {
    static const std::int64_t none = 0;
    const char* path = std::getenv("STEP_CLOCK");
    const int file = path != nullptr ? ::open(path, O_RDONLY | O_CLOEXEC) : -1;
    if (file < 0) return static_cast<const volatile std::int64_t*>(&none);
    void* mapped = ::mmap(nullptr, sizeof none, PROT_READ, MAP_SHARED, file, 0);
    ::close(file);
    if (mapped == MAP_FAILED) return static_cast<const volatile std::int64_t*>(&none);
    return static_cast<const volatile std::int64_t*>(mapped);
  }();
  return *seconds;
}

}  // namespace

extern "C" int clock_gettime(clockid_t id, timespec* time) {
  const int result = static_cast<int>(::syscall(SYS_clock_gettime, id, time));
  if (result == 0 && (id == CLOCK_REALTIME || id == CLOCK_REALTIME_COARSE))
    time->tv_sec += offset();
  return result;
}

extern "C" int gettimeofday(timeval* time, void*) {
  timespec now{};
  clock_gettime(CLOCK_REALTIME, &now);
  time->tv_sec = now.tv_sec;
  time->tv_usec = now.tv_nsec / 1000;
  return 0;
}

extern "C" time_t time(time_t* where) {
  timespec now{};
  clock_gettime(CLOCK_REALTIME, &now);
  if (where != nullptr) *where = now.tv_sec;
  return now.tv_sec;
}

// A wait until a wall time would end a day early or late, which it does not where the kernel's own
// clock is stepped. Times since boot are far smaller than any wall time.
extern "C" int pthread_cond_timedwait(pthread_cond_t* condition, pthread_mutex_t* mutex,
                                      const timespec* until) {
  using Wait = int (*)(pthread_cond_t*, pthread_mutex_t*, const timespec*);
  static const auto real =
      reinterpret_cast<Wait>(::dlvsym(RTLD_NEXT, "pthread_cond_timedwait", "GLIBC_2.3.2"));
  static const auto other = reinterpret_cast<Wait>(::dlsym(RTLD_NEXT, "pthread_cond_timedwait"));
  constexpr time_t kWall = 500'000'000;
  timespec true_until = *until;
  if (until->tv_sec > kWall) true_until.tv_sec -= offset();
  return (real != nullptr ? real : other)(condition, mutex, &true_until);
}
