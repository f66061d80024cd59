// One client object of the Paho library and everything that must be done its way: handlers before
// the first connect, the version said twice, no automatic reconnect, every token with a limit. All
// of it is called from one thread; what comes back lands in the Inbox or in LinkSignals.
#pragma once

#include <mqtt/async_client.h>

#include <condition_variable>
#include <mutex>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "ingest/inbox.h"
#include "ingest/mqtt_client.h"
#include "ingest/outgoing.h"

namespace clutchward {

// What the library's threads and other callers tell the Mqtt thread. Held for moments only; no call
// into the library is made under `mutex`.
struct LinkSignals {
  enum class Delivery : std::uint8_t { confirmed, failed, refused };
  struct Lost {
    std::string why;
    bool taken_over = false;
    bool given_up = false;  // by us, because nothing came back
  };

  std::mutex mutex;
  std::condition_variable changed;
  bool stopping = false;
  bool work = false;  // something new to publish or to subscribe to
  std::optional<Lost> lost;
  std::vector<std::pair<SendId, Delivery>> deliveries;
};

enum class Protocol : int { v3_1_1 = 4, v5 = 5 };

struct ConnectOutcome {
  enum class Kind : std::uint8_t {
    connected,
    refused,          // the broker said no
    version_refused,  // the broker does not speak this version
    cut,              // it hung up without an answer, as brokers do that know no MQTT 5
    unreachable,
    timed_out,  // the client object is of no further use
    stopped
  };
  Kind kind;
  std::string why;
};

class PahoLink : private mqtt::iaction_listener {
 public:
  // Throws mqtt::exception where the library refuses the address.
  PahoLink(const MqttOptions& options, Protocol protocol, Inbox& inbox, StampFunction stamp,
           LinkSignals& signals);

  Protocol protocol() const { return protocol_; }
  // The library's connect time-out is rounded to its timer of three seconds; ours lies behind it.
  ConnectOutcome connect();

  struct Subscribed {
    bool complete = false;             // every filter was answered in time
    std::vector<std::string> refused;  // granted code 0x80 or above
  };
  Subscribed subscribe(const std::vector<std::string>& filters);
  void unsubscribe(const std::vector<std::string>& filters);

  // Hands one message to the library; its outcome comes as a delivery. False: not taken.
  bool send(const Sending& sending);
  // One message, waited for as long as `limit`; whether it arrived changes nothing for the caller.
  void send_and_wait(const OutgoingMessage& message, Span limit);

  // Waits at most `limit` for the broker to say farewell. Never throws.
  void disconnect(Span limit);

 private:
  enum class Waited : std::uint8_t { done, timed_out, interrupted };
  Waited wait_for(mqtt::token& token, Span limit, bool even_if_stopping = false);
  mqtt::connect_options connect_options() const;
  mqtt::message_ptr library_message(const OutgoingMessage& message) const;

  void arrived(const mqtt::const_message_ptr& message) noexcept;
  void lost(std::string_view why, int reason) noexcept;
  void delivered(const mqtt::token& token, LinkSignals::Delivery delivery) noexcept;
  void on_success(const mqtt::token& token) override;
  void on_failure(const mqtt::token& token) override;

  const MqttOptions& options_;
  const Protocol protocol_;
  const std::string command_topic_;
  Inbox& inbox_;
  const StampFunction stamp_;
  LinkSignals& signals_;
  mqtt::async_client client_;  // last, so that it goes first: its callbacks use all of the above
};

}  // namespace clutchward
