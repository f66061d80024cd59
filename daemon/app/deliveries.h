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
  // What was counted of a channel that is another one from now on, or none, says nothing of it.
  void configure(const Settings& before, const Settings& now);
  void sent(const Notification& message, Steady now);
  void note(const DeliveryReport& report, Moment now);
  // One entry a channel of the configuration, in its order.
  std::vector<ChannelWatch> view(const Settings& settings,
                                 const std::vector<Announcer::Waiting>& waiting) const;

  // Whether a message could get out: the last try of at least one channel did not fail. True where
  // none was tried yet, or nobody is to be told.
  bool any_channel_works(const Settings& settings) const;

  struct Bad {
    std::string contact;
    std::string way;  // "email", "webhook"; "email 2" for the second of a kind
    std::string trouble;
  };
  // Channels of the configuration of which nothing got through for so long, although it was tried.
  std::vector<Bad> failing(const Settings& settings, Span for_so_long, Steady now) const;
  // Those whose last try went well.
  std::vector<Bad> working(const Settings& settings) const;
  // Those whose last try went well and took so long: from the hand-over to the answer, with the
  // wait behind other messages.
  std::vector<Bad> slow(const Settings& settings, Span so_long) const;

 private:
  using Place = std::pair<std::string, int>;
  struct UnderWay {
    Place place;
    Steady since;
  };
  std::map<std::string, UnderWay> under_way_;  // by message
  std::map<Place, ChannelWatch> counts_;
  std::map<Place, Steady> failing_since_;  // the first of the tries that failed in a row
  std::map<Place, Span> took_;             // the last try that went well
};

}  // namespace clutchward
