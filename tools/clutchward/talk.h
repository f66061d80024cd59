// What the verbs that talk to the daemon have in common: where it is, who asks, and how an outcome
// is told.
#pragma once

#include <CLI/CLI.hpp>
#include <string>
#include <vector>

#include "control_client.h"
#include "engine/command.h"
#include "engine/view.h"

namespace clutchward {

struct TalkOptions {
  std::string state;
  std::string by;
  bool json = false;
};

// Adds --state and --json, and --by where the verb commands something.
void add_talk(CLI::App& verb, TalkOptions& options, bool commands);

// Every cabinet of the daemon, or the refusal that says why not.
Result<std::vector<CabinetView>> fetch_cabinets(const ControlClient& client);

// Sends `command` under the asker's name and tells the outcome: what is now true of `cabinet` ("" :
// of nothing) on standard output, or the refusal's sentence on standard error. The exit code: 0, 65
// refused, 69 not reachable.
int carry_out(const ControlClient& client, Command command, const TalkOptions& options,
              const std::string& cabinet);

// The sentence on standard error, and `code`.
int complain(const std::string& why, int code);

}  // namespace clutchward
