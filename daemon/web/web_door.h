// Everything that the web server may ask of the rest of the program: a few functions. It knows
// nothing else of the engine.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "engine/brief.h"
#include "engine/command.h"
#include "engine/view.h"
#include "notification/told.h"
#include "notification/wake_table.h"
#include "rules/origin.h"
#include "web/batch_standing.h"
#include "web/curve.h"
#include "web/event_ask.h"
#include "web/report_ask.h"
#include "web/watch_view.h"

namespace clutchward {

struct WebDoor {
  // Known cabinets from the `from`-th on and at most so many, in full and in brief. Their order
  // stays; a new one comes last.
  std::function<std::vector<CabinetView>(std::size_t from, std::size_t most)> views;
  std::function<std::vector<CabinetBrief>(std::size_t from, std::size_t most)> briefs;
  std::function<std::optional<CabinetView>(const std::string& id)> cabinet;
  // Carries a command out and answers once its outcome is durable: within the call or later, once,
  // on the thread that calls WebServer::turn. The answer may be given after the server is gone.
  std::function<void(Command, std::function<void(Reply)>)> command;
  std::function<WatchView()> watch;
  // Ids of all batches, those that ended too, sorted; and one of them.
  std::function<std::vector<std::string>()> batch_ids;
  std::function<std::optional<BatchStanding>(const std::string& id)> batch;
  std::function<std::vector<RuleInForce>(const std::string& cabinet)> rules;
  // Id and name of what a batch can be started by, in the order in which they are offered.
  std::function<std::vector<std::pair<std::string, std::string>>()> profiles;
  AskCurve curve;  // empty: no history is kept
  // Whom what wakes when, by contact.
  std::function<std::vector<WakePerson>()> wakes;
  // Who has been told of an alarm; none where it is not announced. Empty: nobody knows.
  std::function<std::optional<WhoKnows>(const AlarmView& alarm)> told;
  // Both clocks as they stand: for sessions, links and attempts.
  std::function<Moment()> now;
  // Empty: none can be made, and none are kept.
  AskReport report;
  AskEvents events;
  // Writes what the history has in memory to its file, then says why that failed, or "". Answers as
  // `command` does.
  std::function<void(std::function<void(std::string)>)> commit;
};

}  // namespace clutchward
