// The watch itself as it stands now: whether what the page says can be trusted, and whether the
// messages get out. Filled by whoever owns the parts; read by the page, the JSON and the metrics.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "alarm/event.h"
#include "base/zone.h"
#include "cabinet/settings.h"
#include "engine/engine.h"

namespace clutchward {

// One way to reach one person.
struct ChannelWatch {
  std::string contact;
  std::string kind;  // "email", "webhook"
  std::uint64_t delivered = 0;
  std::uint64_t failed = 0;  // tries that failed, each counted
  std::size_t waiting = 0;
  std::optional<Wall> last_delivered;
  std::string trouble;  // "" : the last try went well
  bool operator==(const ChannelWatch&) const = default;
};

// A fault of the watch itself that stands, or that happened within the last day.
enum class Shown : std::uint8_t {
  as_fault,   // by the list of faults alone
  elsewhere,  // another member of the view says it as well (the channel, the store, the clock)
};
struct WatchFault {
  std::string what;  // "THE WATCH RUNS LATE"
  std::string detail;
  Wall since{};
  Shown shown = Shown::as_fault;
  bool once = false;  // it happened then, and does not last
  bool operator==(const WatchFault&) const = default;
};

struct WatchView {
  std::string version;
  std::string site;
  Zone zone;  // how people read times
  Show show = Show::celsius;
  Wall now{};
  bool clock_trusted = true;
  Span uptime{0};
  bool broker_linked = false;
  std::optional<Wall> broker_since;  // since when it is so
  std::string broker_trouble;        // "" : none known
  bool store_writable = true;
  std::string store_trouble;
  std::size_t waiting_messages = 0;  // in the outbox, over all channels
  std::vector<ChannelWatch> channels;
  IntakeCounts intake;
  std::vector<AlarmView> alarms;  // of the site: not normal ones
  std::vector<WatchFault> faults;
  std::string beats_withheld;  // why outside watchers hear nothing; "" : they do, or there are none
};

}  // namespace clutchward
