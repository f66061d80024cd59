// What callers see of the client: everything here locks for a moment, leaves its wish for the Mqtt
// thread and returns.
#include "ingest/mqtt_client.h"

#include "base/check.h"
#include "base/text.h"
#include "ingest/mqtt_worker.h"

namespace clutchward {
namespace {

constexpr Span kDestructorStop{2'000};

bool has_host(std::string_view rest) { return !rest.empty() && rest.front() != ':'; }

}  // namespace

bool response_topic_allowed(std::string_view base, std::string_view topic) {
  if (topic.size() > limits::kTopicBytes || !valid_utf8(topic)) return false;
  if (topic.find_first_of(std::string_view("+#\0", 3)) != std::string_view::npos) return false;
  const std::string replies = std::string(base) + "/reply/";
  for (const std::string_view prefix : {std::string_view(replies), std::string_view("clients/")})
    if (topic.size() > prefix.size() && topic.starts_with(prefix)) return true;
  return false;
}

std::string library_address(std::string_view url) {
  const bool tls = url.starts_with("mqtts://");
  if (!tls && !url.starts_with("mqtt://")) return {};
  std::string_view rest = url.substr(tls ? 8 : 7);
  while (rest.ends_with('/')) rest.remove_suffix(1);
  if (!has_host(rest)) return {};
  std::string address = (tls ? "ssl://" : "tcp://") + std::string(rest);
  const std::size_t bracket = rest.rfind(']');
  const std::size_t colon = rest.rfind(':');
  const bool port =
      colon != std::string_view::npos && (bracket == std::string_view::npos || colon > bracket);
  if (!port) address += tls ? ":8883" : ":1883";
  return address;
}

MqttClient::MqttClient(MqttOptions options, Inbox& inbox, StampFunction stamp)
    : worker_(std::make_shared<Worker>(std::move(options), inbox, stamp)) {}

MqttClient::~MqttClient() { stop(kDestructorStop); }

void MqttClient::start() {
  CHECK(!worker_->thread.joinable());
  // The thread shares the worker, so that one that hangs in the library keeps what it uses.
  worker_->thread = std::thread([worker = worker_] { worker->run(); });
}

bool MqttClient::stop(Span timeout) {
  Worker& worker = *worker_;
  if (!worker.thread.joinable()) return true;
  bool finished = false;
  {
    std::unique_lock lock(worker.signals.mutex);
    worker.stop_limit = timeout;
    worker.signals.stopping = true;
    worker.signals.changed.notify_all();
    finished = worker.signals.changed.wait_for(lock, timeout, [&] { return worker.finished; });
  }
  if (finished)
    worker.thread.join();
  else
    worker.thread.detach();
  return finished;
}

void MqttClient::publish(std::string topic, std::string payload, int qos, bool retain) {
  const std::lock_guard lock(worker_->signals.mutex);
  worker_->outgoing.add({std::move(topic), std::move(payload), qos, retain, std::nullopt});
  worker_->wake();
}

void MqttClient::publish_picture(const std::string& topic, std::string payload) {
  const std::lock_guard lock(worker_->signals.mutex);
  worker_->outgoing.picture(topic, std::move(payload), worker_->now());
  worker_->wake();
}

bool MqttClient::publish_response(std::string topic, std::string correlation, std::string payload) {
  if (!response_topic_allowed(worker_->base(), topic)) return false;
  const std::lock_guard lock(worker_->signals.mutex);
  worker_->outgoing.add({std::move(topic), std::move(payload), 1, false, std::move(correlation)});
  worker_->wake();
  return true;
}

void MqttClient::subscribe_to(std::vector<std::string> filters) {
  const std::lock_guard lock(worker_->signals.mutex);
  worker_->set_filters(std::move(filters));
  worker_->wake();
}

bool MqttClient::connected() const { return worker_->connected; }

std::uint64_t MqttClient::dropped() const {
  const std::lock_guard lock(worker_->signals.mutex);
  return worker_->outgoing.dropped();
}

}  // namespace clutchward
