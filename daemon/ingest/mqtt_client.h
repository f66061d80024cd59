// The daemon's one MQTT client: keeps a link to the broker up from a thread of its own, puts what
// arrives into the Inbox and publishes what it is given. It decides nothing, understands no
// payload, and never makes its caller wait for a broker.
#pragma once

#include <atomic>
#include <cstdint>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "base/time.h"
#include "ingest/inbox.h"

namespace clutchward {

struct MqttOptions {
  std::string url;  // mqtt://host[:port] or mqtts://host[:port]
  std::string client_id;
  std::string user;      // "" : none
  std::string password;  // the password itself
  std::string ca_file;   // "" : the system's store; set: this file alone
  std::string certificate_file;
  std::string key_file;  // "" : in certificate_file
  std::string base;      // status, command and reply topics stand below it
  std::vector<std::string> filters;
};

// The topic a response may be sent to: below `base`/reply/ or clients/, without wildcards and
// within limits::kTopicBytes. Anything else would let a stranger write wherever we may.
bool response_topic_allowed(std::string_view base, std::string_view topic);

// The address in the library's spelling, the port always said: mqtt://h -> tcp://h:1883. "" where
// `url` is neither mqtt:// nor mqtts:// with a host.
std::string library_address(std::string_view url);

class MqttClient {
 public:
  // `inbox` must outlive the client, and the process where stop() returned false.
  MqttClient(MqttOptions options, Inbox& inbox, StampFunction stamp);
  // Stops, waiting at most two seconds, where that has not been done.
  ~MqttClient();
  MqttClient(const MqttClient&) = delete;
  MqttClient& operator=(const MqttClient&) = delete;

  // Starts the thread and returns at once, broker or no broker. Once only.
  void start();

  // Publishes what waits (for at most half of `timeout`), then `offline`, disconnects and ends the
  // thread. False where the library did not come back in time (a name look-up cannot be cut short):
  // the thread is then left behind and the process should end without running destructors.
  bool stop(Span timeout);

  // From any thread; all return at once. Queued in order, kept until the broker has confirmed (QoS
  // 1) or the library has sent (QoS 0), sent again after a lost link; see Outgoing for the bounds.
  void publish(std::string topic, std::string payload, int qos = 1, bool retain = false);
  // A retained topic of which only the newest payload matters: the first at once, then at most one
  // a second. After a reconnect what the broker had confirmed is to be given anew (a broker may
  // come back without its memory). An empty payload deletes it at the broker.
  void publish_picture(const std::string& topic, std::string payload);
  // The reply to an MQTT 5 request. False where response_topic_allowed() says no.
  bool publish_response(std::string topic, std::string correlation, std::string payload);
  // The filters from now on, in place of those before.
  void subscribe_to(std::vector<std::string> filters);

  // Whether the broker has accepted us and has not been lost since.
  bool connected() const;
  // Published messages that were given up: the queue was full, or the broker refused them.
  std::uint64_t dropped() const;

 private:
  class Worker;
  std::shared_ptr<Worker> worker_;
};

}  // namespace clutchward
