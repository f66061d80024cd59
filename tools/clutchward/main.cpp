// The keeper's command: arguments to one of the verbs; nothing else.
#include <sysexits.h>

#include <cstdlib>
#include <iostream>
#include <string>

#include "talk.h"
#include "verb.h"

namespace {

constexpr void (*kVerbs[])(CLI::App&, clutchward::Run&) = {
    clutchward::add_status,       clutchward::add_deeds,      clutchward::add_batch,
    clutchward::add_message_test, clutchward::add_humidity,   clutchward::add_profile,
    clutchward::add_replay,       clutchward::add_passphrase, clutchward::add_history,
    clutchward::add_report,       clutchward::add_quality,    clutchward::add_watch,
    clutchward::add_completion,   clutchward::add_rules,
};

}  // namespace

int main(int argc, char** argv) {
  CLI::App app{"clutchward: the keeper's command"};
  app.set_version_flag("--version", CLUTCHWARD_VERSION);
  app.require_subcommand(1);
  // Before the verb as well as behind it: people write both.
  app.add_option_function<std::string>(
      "--state", [](const std::string& folder) { setenv("CLUTCHWARD_STATE", folder.c_str(), 1); },
      "the daemon's state folder, for verbs that ask the daemon");
  clutchward::Run run;
  for (const auto add : kVerbs) add(app, run);
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    return app.exit(error) == 0 ? EX_OK : EX_USAGE;
  }
  const int code = run ? run() : EX_USAGE;
  if (code != EX_OK || std::cout.flush()) return code;
  return clutchward::complain("the output cannot be written", EX_IOERR);
}
