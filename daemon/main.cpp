// clutchwardd: arguments to the app; nothing else.
#include <curl/curl.h>
#include <sysexits.h>

#include <CLI/CLI.hpp>
#include <cstdlib>
#include <iostream>

#include "app/profile_folders.h"
#include "app/start.h"

int main(int argc, char** argv) {
  clutchward::DaemonOptions options;
  bool check = false;
  CLI::App app{
      "clutchwardd watches egg incubators and tells the keeper in time. It is no safety device."};
  app.set_version_flag("--version", CLUTCHWARD_VERSION);
  app.add_option("--config", options.config, "the configuration (YAML)")->required();
  app.add_option("--state", options.state, "the folder for the state");
  app.add_flag("--check", check, "read everything, report every fault, exit 0 or 78");
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    return app.exit(error) == 0 ? EX_OK : EX_USAGE;
  }
  if (options.state.empty()) {
    const char* given = std::getenv("STATE_DIRECTORY");
    options.state = given != nullptr ? given : "/var/lib/clutchward";
  }
  options.profiles = clutchward::profile_folders();
  curl_global_init(CURL_GLOBAL_DEFAULT);  // once, before any thread
  try {
    return clutchward::start_daemon(options, check);
  } catch (const std::exception& error) {
    std::cerr << "clutchwardd cannot start: " << error.what() << '\n';
    return EX_OSERR;
  }
}
