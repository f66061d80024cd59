#include "broker.h"

#include <mqtt/async_client.h>
#include <unistd.h>

#include <thread>

namespace clutchward::sim {

namespace {

using namespace std::chrono_literals;

// Long enough for a slow network, short enough for a person who mistyped the port.
constexpr auto kConnectLimit = 10s;
constexpr std::size_t kOrders = 1000;
// Messages inside the library; past it we wait, which slows the simulation, not the broker.
constexpr int kBuffered = 10'000;

mqtt::connect_options connect_options() {
  mqtt::connect_options options;
  options.set_mqtt_version(MQTTVERSION_3_1_1);
  options.set_clean_session(true);
  options.set_keep_alive_interval(10s);
  options.set_connect_timeout(5s);
  return options;
}

mqtt::create_options create_options() {
  mqtt::create_options options(MQTTVERSION_3_1_1);
  options.set_max_buffered_messages(kBuffered);
  return options;
}

}  // namespace

Broker::Broker(const std::string& host, int port, std::string control)
    : url_("tcp://" + host + ":" + std::to_string(port)), control_(std::move(control)) {
  client_ = std::make_unique<mqtt::async_client>(url_, "cabinet-sim-" + std::to_string(::getpid()),
                                                 create_options(), nullptr);
  client_->set_connected_handler([this](const std::string&) noexcept {
    try {
      // Before anything is published: whoever has heard a cabinet may give orders.
      if (!control_.empty()) client_->subscribe(control_, 1);
    } catch (...) {  // the link broke again already: the next connection subscribes
    }
    connected_ = client_->is_connected();
  });
  client_->set_connection_lost_handler([this](const std::string&) noexcept { connected_ = false; });
  client_->set_message_callback([this](mqtt::const_message_ptr message) noexcept {
    try {
      const std::lock_guard lock(mutex_);
      if (orders_.size() < kOrders) orders_.push_back(message->to_string());
    } catch (...) {  // no memory for an order: it is lost
    }
  });
}

Broker::~Broker() = default;

std::string Broker::connect() {
  try {
    const auto token = client_->connect(connect_options());
    if (!token->wait_for(kConnectLimit)) return "no answer";
    // The handler runs on the library's thread, a moment after the token is done.
    for (int i = 0; i < 100 && !connected_; ++i) std::this_thread::sleep_for(10ms);
    tried_ = std::chrono::steady_clock::now();
    return connected_ ? "" : "the connection broke at once";
  } catch (const mqtt::exception& error) {
    return error.what();
  }
}

void Broker::mend_link() {
  const auto now = std::chrono::steady_clock::now();
  if (connected_ || now - tried_ < 1s) return;
  tried_ = now;
  try {
    client_->connect(connect_options());
  } catch (const mqtt::exception&) {  // one attempt is still under way
  }
}

bool Broker::publish(const Message& message) {
  while (connected_) {
    try {
      client_->publish(message.topic, message.payload.data(), message.payload.size(), 0, false);
      return true;
    } catch (const mqtt::exception& error) {
      if (error.get_return_code() != MQTTASYNC_MAX_BUFFERED_MESSAGES) return false;
      std::this_thread::sleep_for(1ms);
    }
  }
  return false;
}

std::vector<std::string> Broker::orders() {
  const std::lock_guard lock(mutex_);
  return std::exchange(orders_, {});
}

void Broker::close() {
  if (!connected_) return;
  try {
    client_->disconnect(2000)->wait_for(3s);
  } catch (const mqtt::exception&) {  // the link broke while closing
  }
}

}  // namespace clutchward::sim
