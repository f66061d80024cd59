// The connection to the broker: publishes and hands orders inwards. It connects again by itself
// when the link breaks; what would have been sent meanwhile is lost, as it is with real probes.
#pragma once

#include <atomic>
#include <chrono>
#include <memory>
#include <mutex>
#include <string>
#include <vector>

#include "cabinet.h"

namespace mqtt {
class async_client;
}

namespace clutchward::sim {

class Broker {
 public:
  // `control` is the topic to take orders from, "" for none.
  Broker(const std::string& host, int port, std::string control);
  ~Broker();
  Broker(const Broker&) = delete;
  Broker& operator=(const Broker&) = delete;

  // "" once connected (and subscribed), else why not. Waits at most about 10 s.
  std::string connect();
  // Tries again where the link is lost, at most once a second; never waits for the outcome.
  void mend_link();
  // False where the message is lost because there is no link.
  bool publish(const Message& message);
  // What came on the control topic since the last call.
  std::vector<std::string> orders();
  // Waits until what was sent has left.
  void close();

 private:
  std::string url_;
  std::string control_;
  std::atomic<bool> connected_ = false;
  std::chrono::steady_clock::time_point tried_{};
  std::mutex mutex_;
  std::vector<std::string> orders_;
  std::unique_ptr<mqtt::async_client> client_;
};

}  // namespace clutchward::sim
