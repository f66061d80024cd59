// The Mqtt thread's own state: what MqttClient shares with it and what it keeps to itself.
#pragma once

#include <atomic>
#include <cstdint>
#include <mutex>
#include <optional>
#include <random>
#include <string>
#include <string_view>
#include <thread>
#include <vector>

#include "ingest/back_off.h"
#include "ingest/mqtt_client.h"
#include "ingest/outgoing.h"
#include "ingest/paho_link.h"

namespace clutchward {

class MqttClient::Worker {
 public:
  Worker(MqttOptions options, Inbox& inbox, StampFunction stamp)
      : options_(std::move(options)), inbox_(inbox), stamp_(stamp), filters_(options_.filters) {}

  void run();
  const std::string& base() const { return options_.base; }

  std::atomic<bool> connected{false};
  std::thread thread;

  // Everything below up to the private part is guarded by signals.mutex.
  LinkSignals signals;
  Outgoing outgoing;
  bool finished = false;
  Span stop_limit{0};

  void wake() {
    signals.work = true;
    signals.changed.notify_all();
  }
  void set_filters(std::vector<std::string> filters) {
    filters_ = std::move(filters);
    ++filters_version_;
  }
  Steady now() const { return stamp_().steady; }

 private:
  using Lock = std::unique_lock<std::mutex>;

  bool stopping() {
    const std::lock_guard lock(signals.mutex);
    return signals.stopping;
  }
  ConnectOutcome connect();
  ConnectOutcome try_protocol(Protocol protocol);
  void settle_in();
  void serve();
  bool follow_filters();
  bool take_deliveries(Lock& lock);
  void send_what_is_due();
  void part();
  void after_loss();
  void pause(Span wait);
  void tell(LinkState state, std::string_view topic, std::string_view why);
  std::vector<std::string> wanted_filters();

  const MqttOptions options_;
  Inbox& inbox_;
  const StampFunction stamp_;
  std::vector<std::string> filters_;  // wanted; guarded, and so is its version
  std::uint64_t filters_version_ = 0;
  std::vector<std::string> subscribed_;  // this thread's, and so is the version it follows
  std::uint64_t subscribed_version_ = 0;
  std::optional<PahoLink> link_;
  bool no_v5_ = false;  // the broker said so itself
  BackOff back_off_;
  std::minstd_rand random_{std::random_device{}()};
  Steady connected_at_{};
  Steady last_confirmed_{};
  bool throttled_ = false;
};

}  // namespace clutchward
