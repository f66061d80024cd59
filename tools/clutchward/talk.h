// What the verbs that talk to the daemon have in common: where it is, who asks, and how an outcome
// is told.
#pragma once

#include <CLI/CLI.hpp>
#include <functional>
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

// What is now true, in one or two lines; "" where it cannot be seen.
using NowTrue = std::function<std::string(const ControlClient& client)>;
NowTrue of_cabinet(const std::string& id);
NowTrue of_batches(const std::vector<std::string>& ids);  // each in a line
// Of an alarm of the watch itself.
NowTrue of_site(const std::string& alarm);
// Who is sent a test message, by which ways; "" : everyone.
NowTrue of_test(const std::string& contact);

// Sends `command` under the asker's name and tells the outcome: what is now true on standard
// output, or the refusal's sentence on standard error. The exit code: 0, 65 refused, 69 not
// reachable.
int carry_out(const ControlClient& client, Command command, const TalkOptions& options,
              const NowTrue& now_true);

// The sentence on standard error, and `code`.
int complain(const std::string& why, int code);

}  // namespace clutchward
