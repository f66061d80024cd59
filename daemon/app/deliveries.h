// What became of the messages, by contact and channel: for the picture of the watch itself. The
// outbox decides; this only counts.
#pragma once

#include <map>
#include <string>
#include <utility>
#include <vector>

#include "notification/announcer.h"
#include "web/watch_view.h"

namespace clutchward {

class Deliveries {
 public:
  void sent(const Notification& message);
  void note(const DeliveryReport& report, Wall at);
  // One entry a channel of the configuration, in its order.
  std::vector<ChannelWatch> view(const Settings& settings,
                                 const std::vector<Announcer::Waiting>& waiting) const;

  // Whether a message could get out: the last try of at least one channel did not fail. True where
  // none was tried yet, or nobody is to be told.
  bool any_channel_works(const Settings& settings) const;

 private:
  using Place = std::pair<std::string, int>;
  std::map<std::string, Place> under_way_;  // message -> where
  std::map<Place, ChannelWatch> counts_;
};

}  // namespace clutchward
