// cabinet-sim: simulated cabinets on a real broker at a chosen speed, or written as a recording at
// full speed. It holds the clock and the files; what the cabinets do is in model.h and cabinet.h.
#include <sysexits.h>

#include <cerrno>
#include <chrono>
#include <csignal>
#include <cstdio>
#include <cstring>

#include "broker.h"
#include "options.h"
#include "recording.h"
#include "site.h"

namespace clutchward::sim {
namespace {

using namespace std::chrono_literals;
using Clock = std::chrono::steady_clock;

// How soon an order or a lost link is noticed while nothing is due.
constexpr auto kLook = 50ms;

sigset_t stop_signals() {
  sigset_t set;
  sigemptyset(&set);
  for (const int number : {SIGINT, SIGTERM}) {
    // One that was ignored for us (a script's background job) stays ignored: blocked, it would be
    // kept and found.
    struct sigaction now {};
    sigaction(number, nullptr, &now);
    if (now.sa_handler != SIG_IGN) sigaddset(&set, number);
  }
  return set;
}

// Waits for `span`; true where a person asked to stop.
bool stopped_within(Clock::duration span) {
  const sigset_t set = stop_signals();
  const auto ns = std::max<std::int64_t>(0, std::chrono::nanoseconds(span).count());
  const timespec limit{.tv_sec = ns / 1'000'000'000, .tv_nsec = ns % 1'000'000'000};
  return sigtimedwait(&set, nullptr, &limit) > 0;
}

int record(const Options& options, Site& site) {
  const bool to_stdout = options.record == "-";
  std::FILE* file = to_stdout ? stdout : std::fopen(options.record.c_str(), "w");
  if (!file) {
    std::fprintf(stderr, "cabinet-sim: %s: %s\n", options.record.c_str(), std::strerror(errno));
    return EX_CANTCREAT;
  }
  std::vector<Message> messages;
  int turns = 0;
  bool stopped = false;
  while (site.next() <= *options.duration && !stopped) {
    const Wall at = options.start + site.next();
    messages.clear();
    site.step(messages);
    for (const Message& message : messages) std::fputs(recording_line(at, message).c_str(), file);
    if (std::ferror(file)) break;
    if (++turns % 1000 == 0) stopped = stopped_within(0ms);
  }
  const bool failed = std::ferror(file) || std::fflush(file) != 0;
  if (!to_stdout) std::fclose(file);
  if (failed) {
    std::fprintf(stderr, "cabinet-sim: %s: could not be written\n", options.record.c_str());
    return EX_IOERR;
  }
  return EX_OK;
}

void take_orders(Broker& broker, Site& site, Span now) {
  for (const std::string& text : broker.orders()) {
    const auto done = site.order(text, now);
    std::fprintf(stderr, "cabinet-sim: %s\n", done ? done->c_str() : done.why().c_str());
  }
}

int publish(const Options& options, Site& site) {
  Broker broker(options.broker_host, options.broker_port, options.control);
  if (const std::string why = broker.connect(); !why.empty()) {
    std::fprintf(stderr, "cabinet-sim: broker %s:%d: %s\n", options.broker_host.c_str(),
                 options.broker_port, why.c_str());
    return EX_UNAVAILABLE;
  }
  const auto began = Clock::now();
  const auto simulated = [&] {
    const std::chrono::duration<double> real = Clock::now() - began;
    return std::chrono::duration_cast<Span>(real * options.speed);
  };
  std::uint64_t lost = 0;
  std::vector<Message> messages;
  for (bool stopped = false; !stopped;) {
    broker.mend_link();
    const Span now = simulated();
    if (options.duration && now >= *options.duration && site.next() > *options.duration) break;
    take_orders(broker, site, now);
    // Bounded by `now` as it was read, so that a speed the machine cannot keep still stops on time.
    while (site.next() <= now && (!options.duration || site.next() <= *options.duration)) {
      messages.clear();
      site.step(messages);
      for (const Message& message : messages) lost += broker.publish(message) ? 0 : 1;
      if ((stopped = stopped_within(0ms))) break;
    }
    const auto wait = std::chrono::duration<double>(site.next() - simulated()) / options.speed;
    if (!stopped && wait > 0s)
      stopped = stopped_within(std::min<Clock::duration>(
          kLook, std::chrono::duration_cast<Clock::duration>(wait) + 1ms));
  }
  broker.close();
  if (lost > 0)
    std::fprintf(stderr, "cabinet-sim: %llu messages were lost while the broker was away\n",
                 static_cast<unsigned long long>(lost));
  return EX_OK;
}

int run(int argc, char** argv) {
  auto read = read_options(argc, argv);
  if (const auto* ending = std::get_if<Ending>(&read)) {
    std::fputs(ending->out.c_str(), stdout);
    std::fputs(ending->error.c_str(), stderr);
    if (ending->code == EX_USAGE) std::fputs("cabinet-sim --help says more\n", stderr);
    return ending->code;
  }
  const Options& options = std::get<Options>(read);
  // Before the library starts its threads, so that they inherit it: only our own waits see them.
  const sigset_t set = stop_signals();
  pthread_sigmask(SIG_BLOCK, &set, nullptr);
  Site site(options.cabinets, options.settings, options.faults);
  return options.record.empty() ? publish(options, site) : record(options, site);
}

}  // namespace
}  // namespace clutchward::sim

int main(int argc, char** argv) { return clutchward::sim::run(argc, argv); }
