// What waits to be published: events and replies in order, and the newest picture of each retained
// topic. Plain data that decides what goes next; it knows no broker, no thread and no clock.
#pragma once

#include <cstddef>
#include <cstdint>
#include <deque>
#include <memory_resource>
#include <optional>
#include <set>
#include <string>
#include <unordered_map>
#include <utility>

#include "base/time.h"

namespace clutchward {

struct OutgoingMessage {
  std::string topic;
  std::string payload;
  int qos = 1;
  bool retain = false;
  std::optional<std::string> correlation;  // MQTT 5: sent back as it came
  bool operator==(const OutgoingMessage&) const = default;
};

// Numbers one attempt to send; never zero, never used twice within a run.
using SendId = std::uintptr_t;

struct Sending {
  SendId id;
  OutgoingMessage message;
};

class Outgoing {
 public:
  // A farm's storm is 10,000 events at a few hundred bytes; a broker that is away longer than that
  // lasts finds the newest ones, and the history has them all.
  static constexpr std::size_t kMessages = 10'000;
  static constexpr std::size_t kBytes = 8 * 1024 * 1024;
  // Sent and not yet confirmed: below what common brokers allow an MQTT 5 client (20 in Mosquitto).
  // Past that the library keeps what it was given and looks only once a second whether it may send.
  static constexpr std::size_t kInFlight = 16;
  // Pictures are for people's eyes: one a second and topic.
  static constexpr Span kPicturePause{1000};

  // At the end of the queue. Past a limit the oldest that is not under way is dropped and counted.
  void add(OutgoingMessage message);
  // Replaces what waits for `topic`; the same payload as last confirmed or under way is nothing
  // new. An empty payload takes the retained message away.
  void picture(const std::string& topic, std::string payload, Steady now);

  // What is to be sent now, or none; it then counts as under way.
  std::optional<Sending> next(Steady now);
  // When a picture will be due that is not yet (for the sender's sleep); none while the window is
  // full or nothing waits.
  std::optional<Steady> next_due() const;

  // Outcomes; an id of an earlier link is ignored. Not taken: the link's buffer was full, try
  // later.
  void confirmed(SendId id, Steady now);
  void not_taken(SendId id, Steady now);
  // The broker will never take this one: dropped. Returns its topic, "" for an unknown id.
  std::string refused(SendId id, Steady now);

  // What was under way goes again, in its order. Pictures that the broker had confirmed are
  // forgotten: it may come back without its memory, and whoever shows them shows them anew.
  void link_lost(Steady now);

  bool in_flight() const { return in_flight_ > 0; }
  // Nothing waits and nothing is under way, pictures apart.
  bool messages_done() const { return queue_.empty(); }
  std::uint64_t dropped() const { return dropped_; }

 private:
  struct Entry {
    OutgoingMessage message;
    SendId under_way = 0;
  };
  struct Picture {
    const std::string* topic = nullptr;  // the key
    std::string payload;
    std::optional<std::size_t> sent;  // hash of what the broker has or is being given
    SendId under_way = 0;
    std::optional<Steady> due;
    std::optional<Steady> last;
  };

  void schedule(Picture& picture, Steady now);
  void unschedule(Picture& picture);
  void settle(Picture& picture, Steady now);
  void forget_rested(Steady now);
  std::deque<Entry>::iterator entry_under_way(SendId id);
  Picture* picture_under_way(SendId id);

  std::deque<Entry> queue_;  // under way ones first, in the order of sending
  std::size_t queue_bytes_ = 0;
  std::size_t queue_under_way_ = 0;
  std::unordered_map<std::string, Picture> pictures_;
  // Of topics whose picture the broker has: its hash, by the hash of the topic. Most cabinets have
  // nothing more here.
  // Its nodes side by side: among the strings of a burst they would hold pages of it back.
  std::pmr::unsynchronized_pool_resource told_nodes_;
  std::pmr::unordered_map<std::size_t, std::size_t> told_{&told_nodes_};
  // Such topics until their pause is over, in the order of that: no sooner may they be sent anew.
  std::deque<std::pair<Steady, std::string>> resting_;
  std::set<std::pair<Steady, Picture*>> due_;
  std::unordered_map<SendId, Picture*> pictures_under_way_;
  std::size_t in_flight_ = 0;
  SendId last_id_ = 0;
  std::uint64_t dropped_ = 0;
};

}  // namespace clutchward
