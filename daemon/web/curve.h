// A cabinet's curve as values: what is asked of whoever keeps the history, and what comes back.
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "alarm/event.h"

namespace clutchward {

// Where it stood, from when till when, and which of that cabinet's probes are not in its air.
struct CurveStay {
  std::string cabinet;
  Wall from{};
  Wall to{};
  std::vector<std::string> leave_out;
  bool operator==(const CurveStay&) const = default;
};

struct CurveWanted {
  std::vector<CurveStay> stays;  // in order, at least one; none empty
  Span step{0};                  // whole minutes, at least one
  std::string batch;             // whose alarms, beside the machine's; "" : those of all

  Wall from() const { return stays.front().from; }
  Wall to() const { return stays.back().to; }
};

// Lowest, mean and highest of the air probes within one step.
struct CurveStep {
  Wall at{};  // its beginning
  Milli low = 0;
  Milli mean = 0;
  Milli high = 0;
  bool operator==(const CurveStep&) const = default;
};

// An event, and what kind of alarm it is of.
struct CurveEvent {
  AlarmEvent event;
  RuleKind kind = RuleKind::above;
  Quantity quantity = Quantity::temperature;
  Priority priority = Priority::medium;
  bool operator==(const CurveEvent&) const = default;
};

struct CurveFound {
  std::string trouble;                 // why there is none, or not all of it
  std::vector<CurveStep> temperature;  // steps that have readings, in order
  std::vector<CurveStep> humidity;
  std::vector<CurveEvent> events;  // in order, at most limits::kCurveEvents, the latest
  std::int64_t every = 1;          // of so many minutes one was looked at
};
using Curve = std::shared_ptr<const CurveFound>;

// Answers later, once, on the thread that calls WebServer::turn; never waits for a disk itself.
using AskCurve = std::function<void(CurveWanted, std::function<void(Curve)>)>;

}  // namespace clutchward
