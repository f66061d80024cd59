// What every verb of the keeper's command is: a function that adds its arguments and says what to
// run. The list of them is in main.cpp.
#pragma once

#include <CLI/CLI.hpp>
#include <functional>

namespace clutchward {

// What the parsed arguments ask for; answers with an exit code of sysexits.h.
using Run = std::function<int()>;

void add_status(CLI::App& app, Run& run);
void add_deeds(CLI::App& app, Run& run);  // acknowledge, snooze, ... , cool
void add_batch(CLI::App& app, Run& run);
void add_message_test(CLI::App& app, Run& run);
void add_humidity(CLI::App& app, Run& run);
void add_profile(CLI::App& app, Run& run);
void add_history(CLI::App& app, Run& run);
void add_report(CLI::App& app, Run& run);
void add_replay(CLI::App& app, Run& run);
void add_quality(CLI::App& app, Run& run);
void add_passphrase(CLI::App& app, Run& run);
void add_watch(CLI::App& app, Run& run);
void add_completion(CLI::App& app, Run& run);  // of all that are there when it runs
void add_rules(CLI::App& app, Run& run);

}  // namespace clutchward
