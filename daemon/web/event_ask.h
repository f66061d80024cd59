// What happened, newest first, a page at a time: what is asked of whoever keeps the history, and
// what comes back.
#pragma once

#include <cstddef>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "wire/event_read.h"

namespace clutchward {

struct EventsWanted {
  std::string cabinet;   // "" : of all
  std::string batch;     // "" : of all
  Wall until{};          // at it or before
  std::size_t skip = 0;  // of the newest of these, so many have been shown
  std::size_t most = 0;
  bool operator==(const EventsWanted&) const = default;
};

struct PastEvent {
  NotedEvent noted;
  std::string json;  // as it was kept
};

struct EventsFound {
  std::string trouble;            // why there are none, or not all of them
  std::vector<PastEvent> events;  // newest first
  bool more = false;              // older ones
};
using Events = std::shared_ptr<const EventsFound>;

// As AskReport answers.
using AskEvents = std::function<void(EventsWanted, std::function<void(Events)>)>;

}  // namespace clutchward
