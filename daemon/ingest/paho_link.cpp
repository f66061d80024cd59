// Wraps every call into the library in a limit and a catch; no exception of it leaves this file but
// the constructor's. Callbacks run under the library's one lock for all: they copy and return.
#include "ingest/paho_link.h"

#include <array>
#include <chrono>

namespace clutchward {
namespace {

using Kind = ConnectOutcome::Kind;

// Detection of a silent broker takes two and a half times this: 25 s, below any silence rule.
constexpr std::chrono::seconds kKeepAlive{10};
constexpr std::chrono::seconds kLibraryConnectTimeout{5};
constexpr Span kConnectLimit{10'000};
// A broker that takes longer over a SUBACK or a PUBACK is one to begin anew with.
constexpr Span kAnswerLimit{10'000};
// How soon a wait notices that we are to stop.
constexpr Span kSlice{50};
// The library's own buffer; the window of Outgoing stays below it.
constexpr int kLibraryBuffer = 4 * static_cast<int>(Outgoing::kInFlight);

// MQTT 5 reason codes, OASIS MQTT 5.0 section 2.4; 0x80 and above are refusals.
constexpr int kUnspecified = 0x80;
constexpr int kUnsupportedVersion = 0x84;
constexpr int kTakenOver = 0x8E;

// MQTT 3.1.1 CONNACK return codes, OASIS MQTT 3.1.1 table 3.1.
constexpr std::array<std::string_view, 6> kReturnCodes = {
    "accepted",           "unacceptable protocol version", "client identifier rejected",
    "server unavailable", "bad user name or password",     "not authorised"};

// Debian's C++ wrapper offers no way to switch the system's trust store off, though the C library
// below it has one. An explicit instantiation may name a private member; this is that and no more.
template <auto Member>
struct Opened {
  friend MQTTAsync_SSLOptions& c_options(mqtt::ssl_options& options) { return options.*Member; }
};
MQTTAsync_SSLOptions& c_options(mqtt::ssl_options& options);
template struct Opened<&mqtt::ssl_options::opts_>;

std::string reason_text(int reason) {
  const std::string text = mqtt::exception::reason_code_str(reason);
  return text.empty() ? "reason " + std::to_string(reason) : text;
}

ConnectOutcome failed_connect(const mqtt::exception& error, Protocol protocol, bool tls) {
  // Where a version 5 CONNACK says no, the library puts its reason into the return code.
  const int code = error.get_return_code();
  const int reason = code >= kUnspecified ? code : error.get_reason_code();
  if (protocol == Protocol::v5 && reason >= kUnspecified && reason < 0x100)
    return {reason == kUnsupportedVersion ? Kind::version_refused : Kind::refused,
            "the broker refused us: " + reason_text(reason)};
  if (code >= 1 && code < static_cast<int>(kReturnCodes.size()))
    return {code == 1 ? Kind::version_refused : Kind::refused,
            "the broker refused us: " + std::string(kReturnCodes[static_cast<std::size_t>(code)])};
  const std::string message = error.get_message();
  // Both a refused port and a hang-up behind our CONNECT come under this name.
  const bool cut = message.find("completion failure") != std::string::npos;
  if (message.find("TCP") != std::string::npos && !(cut && protocol == Protocol::v5 && !tls))
    return {Kind::unreachable,
            std::string("no connection to the broker") +
                (tls ? " (address, host name in its certificate, CA file, or our clock?)" : "") +
                ": " + message};
  return {Kind::cut, "the broker hung up without an answer: " + message};
}

}  // namespace

PahoLink::PahoLink(const MqttOptions& options, Protocol protocol, Inbox& inbox, StampFunction stamp,
                   LinkSignals& signals)
    : options_(options),
      protocol_(protocol),
      command_topic_(options.base + "/command"),
      inbox_(inbox),
      stamp_(stamp),
      signals_(signals),
      client_(library_address(options.url), options.client_id,
              mqtt::create_options(static_cast<int>(protocol), kLibraryBuffer)) {
  client_.set_message_callback([this](mqtt::const_message_ptr message) { arrived(message); });
  client_.set_connection_lost_handler([this](const std::string& why) { lost(why, 0); });
  client_.set_disconnected_handler(
      [this](const mqtt::properties&, mqtt::ReasonCode reason) { lost("", reason); });
}

mqtt::connect_options PahoLink::connect_options() const {
  mqtt::connect_options connect;
  connect.set_mqtt_version(static_cast<int>(protocol_));
  // No session is kept: a broker's queue would give us old readings first and drop the newest.
  if (protocol_ == Protocol::v5)
    connect.set_clean_start(true);
  else
    connect.set_clean_session(true);
  connect.set_automatic_reconnect(false);
  connect.set_keep_alive_interval(kKeepAlive);
  connect.set_connect_timeout(kLibraryConnectTimeout);
  if (!options_.user.empty()) connect.set_user_name(options_.user);
  if (!options_.password.empty()) connect.set_password(options_.password);
  connect.set_will_message(
      mqtt::message::create(options_.base + "/status", std::string("offline"), 1, true));
  if (options_.url.starts_with("mqtts://")) {
    mqtt::ssl_options ssl;
    ssl.set_verify(true);
    ssl.set_enable_server_cert_auth(true);
    if (!options_.ca_file.empty()) {
      ssl.set_trust_store(options_.ca_file);
      c_options(ssl).disableDefaultTrustStore = 1;
    }
    if (!options_.certificate_file.empty()) {
      ssl.set_key_store(options_.certificate_file);
      ssl.set_private_key(options_.key_file.empty() ? options_.certificate_file
                                                    : options_.key_file);
    }
    connect.set_ssl(ssl);
  }
  return connect;
}

ConnectOutcome PahoLink::connect() {
  {
    const std::lock_guard lock(signals_.mutex);
    signals_.lost.reset();
    signals_.deliveries.clear();
  }
  try {
    const mqtt::token_ptr token = client_.connect(connect_options());
    switch (wait_for(*token, kConnectLimit)) {
      case Waited::done:
        return {Kind::connected, ""};
      case Waited::timed_out:
        return {Kind::timed_out, "the broker did not answer our CONNECT in time"};
      case Waited::interrupted:
        break;
    }
    const std::lock_guard lock(signals_.mutex);
    if (signals_.stopping) return {Kind::stopped, ""};
    return {Kind::cut, "the link was lost while connecting"};
  } catch (const mqtt::exception& error) {
    return failed_connect(error, protocol_, options_.url.starts_with("mqtts://"));
  } catch (const std::exception& error) {
    return {Kind::timed_out, error.what()};
  }
}

PahoLink::Waited PahoLink::wait_for(mqtt::token& token, Span limit, bool even_if_stopping) {
  const Steady end = stamp_().steady + limit;
  while (!token.wait_for(kSlice)) {
    if (stamp_().steady >= end) return Waited::timed_out;
    const std::lock_guard lock(signals_.mutex);
    if (signals_.lost || (signals_.stopping && !even_if_stopping)) return Waited::interrupted;
  }
  return Waited::done;
}

PahoLink::Subscribed PahoLink::subscribe(const std::vector<std::string>& filters) {
  // One SUBSCRIBE a filter: a refusal then fails its own token in both protocol versions.
  Subscribed result;
  std::vector<mqtt::token_ptr> tokens;
  try {
    for (const std::string& filter : filters) tokens.push_back(client_.subscribe(filter, 1));
  } catch (const std::exception&) {
    return result;
  }
  for (std::size_t i = 0; i < tokens.size(); ++i) {
    try {
      if (wait_for(*tokens[i], kAnswerLimit) != Waited::done) return result;
    } catch (const std::exception&) {
      // The token failed: because the link went, or because the broker refused this filter.
      const std::lock_guard lock(signals_.mutex);
      if (signals_.lost) return result;
      result.refused.push_back(filters[i]);
    }
  }
  result.complete = true;
  return result;
}

void PahoLink::unsubscribe(const std::vector<std::string>& filters) {
  for (const std::string& filter : filters) {
    try {
      wait_for(*client_.unsubscribe(filter), kAnswerLimit);
    } catch (const std::exception&) {
      // Whatever still comes matches no pattern any more.
    }
  }
}

mqtt::message_ptr PahoLink::library_message(const OutgoingMessage& message) const {
  auto made = mqtt::message::create(message.topic, message.payload, message.qos, message.retain);
  if (message.correlation && protocol_ == Protocol::v5) {
    mqtt::properties properties;
    properties.add(mqtt::property(mqtt::property::CORRELATION_DATA, *message.correlation));
    made->set_properties(std::move(properties));
  }
  return made;
}

bool PahoLink::send(const Sending& sending) {
  try {
    client_.publish(library_message(sending.message), reinterpret_cast<void*>(sending.id), *this);
    return true;
  } catch (const std::exception&) {
    return false;
  }
}

void PahoLink::send_and_wait(const OutgoingMessage& message, Span limit) {
  try {
    wait_for(*client_.publish(library_message(message)), limit, true);
  } catch (const std::exception&) {
    // Also thrown for "no matching subscribers", which is fine.
  }
}

void PahoLink::disconnect(Span limit) {
  try {
    const mqtt::token_ptr token = client_.disconnect(static_cast<int>(limit.count()));
    const Steady end = stamp_().steady + limit + 4 * kSlice;
    while (!token->wait_for(kSlice) && stamp_().steady < end) {
    }
  } catch (const std::exception&) {
    // Not connected: nothing to part from.
  }
}

void PahoLink::arrived(const mqtt::const_message_ptr& message) noexcept {
  try {
    Incoming item;
    item.stamp = stamp_();
    item.topic = message->get_topic();
    item.payload = message->get_payload();
    item.retained = message->is_retained();
    item.qos = static_cast<std::uint8_t>(message->get_qos());
    if (item.topic != command_topic_) {
      inbox_.push(item);
      return;
    }
    item.kind = Incoming::Kind::command;
    const mqtt::properties& properties = message->get_properties();
    std::string response_topic;
    std::string correlation;
    if (properties.contains(mqtt::property::RESPONSE_TOPIC))
      response_topic = mqtt::get<std::string>(properties, mqtt::property::RESPONSE_TOPIC);
    if (properties.contains(mqtt::property::CORRELATION_DATA))
      correlation = mqtt::get<std::string>(properties, mqtt::property::CORRELATION_DATA);
    item.response_topic = response_topic;
    item.correlation = correlation;
    inbox_.push(item);
  } catch (...) {
    // An exception that leaves a handler ends the process.
  }
}

void PahoLink::lost(std::string_view why, int reason) noexcept {
  try {
    const std::lock_guard lock(signals_.mutex);
    // The broker's own reason comes first and is the better one.
    if (!signals_.lost)
      signals_.lost = {reason != 0   ? "the broker ended the link: " + reason_text(reason)
                       : why.empty() ? "the link to the broker was lost"
                                     : "the link to the broker was lost: " + std::string(why),
                       reason == kTakenOver, false};
    signals_.changed.notify_all();
  } catch (...) {
  }
}

void PahoLink::delivered(const mqtt::token& token, LinkSignals::Delivery delivery) noexcept {
  try {
    const auto id = reinterpret_cast<SendId>(token.get_user_context());
    const std::lock_guard lock(signals_.mutex);
    signals_.deliveries.emplace_back(id, delivery);
    signals_.changed.notify_all();
  } catch (...) {
  }
}

void PahoLink::on_success(const mqtt::token& token) {
  delivered(token, LinkSignals::Delivery::confirmed);
}

void PahoLink::on_failure(const mqtt::token& token) {
  const int reason = token.get_reason_code();
  delivered(token, reason >= kUnspecified && reason < 0x100 ? LinkSignals::Delivery::refused
                                                            : LinkSignals::Delivery::failed);
}

}  // namespace clutchward
