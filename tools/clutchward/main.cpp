// The keeper's command: arguments to one of the verbs; nothing else.
#include <sysexits.h>

#include <cstdlib>
#include <iostream>
#include <memory>
#include <sstream>
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

// A verb by its own name: the word that JSON uses for it works as well, and is nothing to read.
class OneName : public CLI::Formatter {
 public:
  std::string make_subcommand(const CLI::App* verb) const override {
    std::ostringstream out;
    CLI::detail::format_help(out, verb->get_name(), verb->get_description(), get_column_width());
    return out.str();
  }
};

}  // namespace

int main(int argc, char** argv) {
  CLI::App app{"clutchward: the keeper's command"};
  app.formatter(std::make_shared<OneName>());
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
