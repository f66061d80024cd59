// The Mqtt thread: connect, subscribe, publish, notice the end, wait, begin anew. It waits on one
// condition variable and by spans only, so no step of the wall clock can put it to sleep.
#include "ingest/mqtt_worker.h"

#include <algorithm>

#include "base/text.h"

namespace clutchward {
namespace {

// A confirmation that takes longer means that the link is dead though nobody has said so.
constexpr Span kConfirmLimit{15'000};
constexpr Span kStatusLimit{5'000};
// The library's buffer was full: it empties within milliseconds while connected.
constexpr Span kNotTakenPause{20};
constexpr Span kReasonPause{200};

}  // namespace

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
      tell(LinkState::connected, "", link_->protocol() == Protocol::v5 ? "MQTT 5" : "MQTT 3.1.1");
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
  if (no_v5_) return try_protocol(Protocol::v3_1_1);
  ConnectOutcome outcome = try_protocol(Protocol::v5);
  if (outcome.kind == Kind::cut) {
    outcome = try_protocol(Protocol::v3_1_1);
    if (outcome.kind != Kind::connected) return outcome;
    // It may only have been starting up when it hung up: 5 gets a second chance before we settle.
    link_->disconnect(kStatusLimit);
    outcome = try_protocol(Protocol::v5);
  }
  no_v5_ = outcome.kind == Kind::version_refused || outcome.kind == Kind::cut;
  return no_v5_ ? try_protocol(Protocol::v3_1_1) : outcome;
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
  const std::vector<std::string> asked = missing_in(wanted, subscribed_);
  const PahoLink::Subscribed answer = link_->subscribe(asked);
  for (const std::string& filter : answer.refused)
    tell(LinkState::subscription_refused, filter,
         "the broker refuses our subscription to " + printable(filter));
  if (answer.complete)
    for (const std::string& filter : missing_in(asked, answer.refused))
      tell(LinkState::subscription_granted, filter, "");
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
  bool failed = false;
  for (const auto& [id, delivery] : signals.deliveries) {
    if (delivery == LinkSignals::Delivery::confirmed)
      outgoing.confirmed(id, at);
    else if (delivery == LinkSignals::Delivery::refused)
      refused.push_back(outgoing.refused(id, at));
    else
      failed = true;
  }
  signals.deliveries.clear();
  if (failed) {
    // The library fails what is under way just before it says that the link is gone, and why.
    signals.changed.wait_for(lock, kReasonPause, [this] { return signals.lost.has_value(); });
    if (!signals.lost) signals.lost = {"a message could not be sent", false, true};
  }
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

}  // namespace clutchward
