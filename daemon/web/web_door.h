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
#include "notification/wake_table.h"
#include "rules/origin.h"
#include "web/batch_standing.h"
#include "web/curve.h"
#include "web/watch_view.h"

namespace clutchward {

struct WebDoor {
  // Every known cabinet, in any order.
  std::function<std::vector<CabinetView>()> cabinets;
  std::function<std::optional<CabinetView>(const std::string& id)> cabinet;
  // Carries a command out and answers once its outcome is durable: within the call or later, once,
  // on the thread that calls WebServer::turn. The answer may be given after the server is gone.
  std::function<void(Command, std::function<void(Reply)>)> command;
  std::function<WatchView()> watch;
  // Batches by id, those that ended too where asked for; and one of them.
  std::function<std::vector<BatchStanding>(bool ended)> batches;
  std::function<std::optional<BatchStanding>(const std::string& id)> batch;
  // Every known cabinet in brief, in any order.
  std::function<std::vector<CabinetBrief>()> briefs;
  std::function<std::vector<RuleInForce>(const std::string& cabinet)> rules;
  // Id and name of what a batch can be started by, in the order in which they are offered.
  std::function<std::vector<std::pair<std::string, std::string>>()> profiles;
  AskCurve curve;  // empty: no history is kept
  // Whom what wakes when, by contact.
  std::function<std::vector<WakePerson>()> wakes;
  // Both clocks as they stand: for sessions, links and attempts.
  std::function<Moment()> now;
};

}  // namespace clutchward
