// Ring topics: what each shows, when it beats, whether its device has confirmed. Decides and
// counts; it publishes nothing itself.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "cabinet/settings.h"
#include "notification/ringing.h"

namespace clutchward {

class RingBoard {
 public:
  struct Publish {
    std::string topic;
    std::string payload;  // "" : the topic is no more
  };

  void configure(const Settings& settings);
  bool any() const { return !topics_.empty(); }
  bool serves(const Notification& message) const;
  // Where devices confirm.
  std::vector<std::string> filters() const;

  // A message for a ring. It is reported delivered when its device has confirmed it, or at once
  // where none is expected to; failed where none did in time, and delivered after all if one does
  // later.
  void take(const Notification& message, Moment now);
  // Who needs ringing now.
  void show(const std::vector<RingCall>& calls);
  // False: no topic of ours.
  bool confirm(std::string_view topic, std::string_view payload, bool retained, Moment now);
  // The broker may have lost what it held: every picture anew.
  void forget_published();

  bool beat_due(Steady now) const;
  std::vector<Publish> take_due(Moment now);
  std::vector<DeliveryReport> take_reports(bool linked, Steady now);
  std::optional<Steady> next_deadline() const;

 private:
  struct Waiting {
    std::string id;
    std::optional<Steady> confirm_by;  // none: nothing is expected, or it was in vain
    bool expects = false;
    bool reported = false;
    std::optional<RingCall> own;  // without an alarm behind it: it rings by itself ...
    Steady own_until{};           // ... until then, or until it is confirmed
  };
  struct Topic {
    std::vector<std::pair<std::string, Priority>> contacts;  // and their channel's least
    std::vector<RingCall> calls;
    std::vector<Waiting> waiting;
    std::string id;                      // of the last message since it began to ring
    std::optional<Steady> waits_for_id;  // it has begun without: until then; Steady{}: in vain
    std::optional<Wall> confirmed_at;
    std::string confirmed_by;
    std::optional<RingPicture> shown;  // as last published, its time apart
    Steady beat_due{};
  };
  RingPicture picture_of(const Topic& topic) const;
  static void settle(Topic& topic);
  static bool is_held(Topic& topic, Steady now);
  void give_back(const Waiting& one, const char* why);

  std::string base_;
  std::map<std::string, Topic> topics_;  // by the topic below base
  std::map<std::pair<std::string, int>, RingChannel> channels_;
  std::vector<std::string> gone_;
  std::vector<DeliveryReport> reports_;
};

}  // namespace clutchward
