// The Mqtt thread: connect, subscribe, publish, notice the end, wait, begin anew. It waits on one
// condition variable and by spans only, so no step of the wall clock can put it to sleep.
#include "ingest/mqtt_client.h"

#include <algorithm>
#include <random>
#include <thread>

#include "base/check.h"
#include "base/text.h"
#include "ingest/back_off.h"
#include "ingest/outgoing.h"
#include "ingest/paho_link.h"

namespace clutchward {
namespace {

// A confirmation that takes longer means that the link is dead though nobody has said so.
constexpr Span kConfirmLimit{15'000};
constexpr Span kStatusLimit{5'000};
// The library's buffer was full: it empties within milliseconds while connected.
constexpr Span kNotTakenPause{20};
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

void MqttClient::Worker::tell(LinkState state, std::string_view topic, std::string_view why) {
  Incoming item;
  item.kind = Incoming::Kind::link;
  item.link = state;
  item.stamp = stamp_();
  item.topic = topic;
  item.payload = why;
  inbox_.push(item);
}

void MqttClient::Worker::run() {
  while (!stopping()) {
    const ConnectOutcome outcome = connect();
    if (outcome.kind == ConnectOutcome::Kind::stopped) break;
    if (outcome.kind == ConnectOutcome::Kind::connected) {
      connected_at_ = now();
      connected = true;
      tell(LinkState::connected, "", "");
      settle_in();
      serve();
      if (stopping()) part();
      connected = false;
      if (!stopping()) after_loss();
      continue;
    }
    const bool refused = outcome.kind == ConnectOutcome::Kind::refused ||
                         outcome.kind == ConnectOutcome::Kind::version_refused;
    tell(refused ? LinkState::refused : LinkState::unreachable, "", outcome.why);
    pause(back_off_.failed(static_cast<std::uint32_t>(random_())));
  }
  link_.reset();
  const std::lock_guard lock(signals.mutex);
  finished = true;
  signals.changed.notify_all();
}

// MQTT 5 first; 3.1.1 where the broker says that it cannot, or hangs up on our CONNECT.
ConnectOutcome MqttClient::Worker::connect() {
  using Kind = ConnectOutcome::Kind;
  if (!no_v5_) {
    ConnectOutcome outcome = try_protocol(Protocol::v5);
    if (outcome.kind != Kind::version_refused && outcome.kind != Kind::cut) return outcome;
    no_v5_ = outcome.kind == Kind::version_refused;
  }
  return try_protocol(Protocol::v3_1_1);
}

ConnectOutcome MqttClient::Worker::try_protocol(Protocol protocol) {
  try {
    if (link_ && link_->protocol() != protocol) link_.reset();
    if (!link_) link_.emplace(options_, protocol, inbox_, stamp_, signals);
  } catch (const std::exception& error) {
    return {ConnectOutcome::Kind::unreachable,
            "the MQTT library refuses " + printable(options_.url) + ": " + error.what()};
  }
  ConnectOutcome outcome = link_->connect();
  // What is left half way is not used again: its old token may never end.
  if (outcome.kind == ConnectOutcome::Kind::timed_out ||
      outcome.kind == ConnectOutcome::Kind::stopped)
    link_.reset();
  return outcome;
}

std::vector<std::string> MqttClient::Worker::wanted_filters() {
  std::vector<std::string> wanted{options_.base + "/command"};
  const std::lock_guard lock(signals.mutex);
  wanted.insert(wanted.end(), filters_.begin(), filters_.end());
  subscribed_version_ = filters_version_;
  return wanted;
}

// Subscribes, then says `online`: who waits for it finds us listening.
void MqttClient::Worker::settle_in() {
  subscribed_.clear();
  {
    const std::lock_guard lock(signals.mutex);
    outgoing.link_lost(now());
  }
  last_confirmed_ = now();
  if (!follow_filters()) return;
  link_->send_and_wait({options_.base + "/status", "online", 1, true, std::nullopt}, kStatusLimit);
}

// Brings the subscriptions in line with what is wanted. False where the link did not answer; it is
// then given up.
bool MqttClient::Worker::follow_filters() {
  const std::vector<std::string> wanted = wanted_filters();
  const auto missing_in = [](const std::vector<std::string>& from,
                             const std::vector<std::string>& in) {
    std::vector<std::string> missing;
    for (const std::string& filter : from)
      if (std::find(in.begin(), in.end(), filter) == in.end()) missing.push_back(filter);
    return missing;
  };
  link_->unsubscribe(missing_in(subscribed_, wanted));
  const PahoLink::Subscribed answer = link_->subscribe(missing_in(wanted, subscribed_));
  for (const std::string& filter : answer.refused)
    tell(LinkState::subscription_refused, filter,
         "the broker refuses our subscription to " + printable(filter));
  subscribed_ = wanted;
  if (answer.complete) return true;
  const std::lock_guard lock(signals.mutex);
  if (!signals.lost && !signals.stopping)
    signals.lost = {"the broker did not answer our subscriptions in time", false, true};
  return false;
}

// Until the link is lost, or stopping and nothing more to send (or half the time for it gone).
void MqttClient::Worker::serve() {
  std::optional<Steady> flush_end;
  for (;;) {
    send_what_is_due();
    Lock lock(signals.mutex);
    if (!take_deliveries(lock)) return;
    const Steady at = now();
    if (signals.stopping) {
      if (!flush_end) flush_end = at + stop_limit / 2;
      if (outgoing.messages_done() || at >= *flush_end) return;
    }
    if (subscribed_version_ != filters_version_) {
      lock.unlock();
      if (!follow_filters()) return;
      continue;
    }
    if (signals.work || !signals.deliveries.empty()) {
      signals.work = false;
      continue;
    }
    Span sleep{1000};
    if (throttled_) sleep = kNotTakenPause;
    if (const auto due = outgoing.next_due(); due && !throttled_)
      sleep = std::clamp(Span(*due - at), Span{0}, sleep);
    if (flush_end) sleep = std::clamp(Span(*flush_end - at), Span{1}, sleep);
    signals.changed.wait_for(lock, sleep);
  }
}

// False where the link is to be given up.
bool MqttClient::Worker::take_deliveries(Lock& lock) {
  const Steady at = now();
  if (!outgoing.in_flight() || !signals.deliveries.empty()) last_confirmed_ = at;
  std::vector<std::string> refused;
  for (const auto& [id, delivery] : signals.deliveries) {
    if (delivery == LinkSignals::Delivery::confirmed)
      outgoing.confirmed(id, at);
    else if (delivery == LinkSignals::Delivery::refused)
      refused.push_back(outgoing.refused(id, at));
    else if (!signals.lost)
      signals.lost = {"a message could not be sent", false, true};
  }
  signals.deliveries.clear();
  if (!signals.lost && at - last_confirmed_ > kConfirmLimit)
    signals.lost = {"the broker confirms nothing any more", false, true};
  const bool lost = signals.lost.has_value();
  lock.unlock();
  for (const std::string& topic : refused)
    if (!topic.empty())
      tell(LinkState::publish_refused, topic,
           "the broker does not let us publish to " + printable(topic));
  lock.lock();
  return !lost;
}

void MqttClient::Worker::send_what_is_due() {
  throttled_ = false;
  for (;;) {
    std::optional<Sending> sending;
    {
      const std::lock_guard lock(signals.mutex);
      if (signals.lost) return;
      sending = outgoing.next(now());
    }
    if (!sending) return;
    if (!link_->send(*sending)) {
      const std::lock_guard lock(signals.mutex);
      outgoing.not_taken(sending->id, now());
      throttled_ = true;
      return;
    }
  }
}

// A clean farewell: the will is not sent after it, so `offline` is said first.
void MqttClient::Worker::part() {
  {
    const std::lock_guard lock(signals.mutex);
    if (signals.lost) return;
  }
  const Span share = stop_limit / 6;
  link_->send_and_wait({options_.base + "/status", "offline", 1, true, std::nullopt}, share);
  link_->disconnect(share);
}

void MqttClient::Worker::after_loss() {
  LinkSignals::Lost lost{"the link to the broker was lost", false, true};
  {
    const std::lock_guard lock(signals.mutex);
    if (signals.lost) lost = *signals.lost;
    outgoing.link_lost(now());
  }
  const Span wait =
      back_off_.lost(now() - connected_at_, lost.taken_over, static_cast<std::uint32_t>(random_()));
  tell(LinkState::lost, "", lost.why);
  if (lost.taken_over || back_off_.taken_over())
    tell(LinkState::taken_over, "",
         lost.taken_over
             ? "another client connects with our client id " + printable(options_.client_id)
             : "the link breaks right after each connect: another client may use our "
               "client id " +
                   printable(options_.client_id));
  if (lost.given_up) {
    // The library still thinks that it is connected; a fresh object cannot.
    link_->disconnect(Span{0});
    link_.reset();
  }
  pause(wait);
}

void MqttClient::Worker::pause(Span wait) {
  Lock lock(signals.mutex);
  signals.changed.wait_for(lock, wait, [this] { return signals.stopping; });
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
