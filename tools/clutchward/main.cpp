// The keeper's command: arguments to one of the verbs; nothing else.
#include <fcntl.h>
#include <sysexits.h>
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <cerrno>
#include <cstring>
#include <iostream>

#include "app/replay.h"
#include "config/load.h"
#include "loop/zone_loader.h"

namespace clutchward {
namespace {

std::optional<Wall> time_option(const std::string& text, const char* name) {
  if (text.empty()) return std::nullopt;
  const auto time = parse_rfc3339(text);
  if (!time) throw CLI::ValidationError(name, "\"" + text + "\" is no time; expected such as 2026-03-01T08:00:00Z");
  return time;
}

struct ReplayArguments {
  std::string config;
  std::string from;
  std::string until;
  std::string recording = "-";
};

int run_replay(const ReplayArguments& arguments) {
  const Loaded loaded = load_settings(arguments.config, {CLUTCHWARD_PROFILES});
  for (const Problem& problem : loaded.problems) std::cerr << to_text(problem) << '\n';
  if (!loaded.problems.empty()) return EX_CONFIG;
  const auto zone = load_zone(loaded.settings.timezone);
  if (!zone) {
    std::cerr << zone.why() << '\n';
    return EX_CONFIG;
  }
  ReplayOptions options{arguments.recording, time_option(arguments.from, "--from"),
                        time_option(arguments.until, "--until")};
  int input = STDIN_FILENO;
  if (arguments.recording != "-") {
    input = ::open(arguments.recording.c_str(), O_RDONLY | O_CLOEXEC);
    if (input < 0) {
      std::cerr << arguments.recording << ": " << std::strerror(errno) << '\n';
      return EX_NOINPUT;
    }
  }
  const ReplayOutcome outcome =
      replay(loaded.settings, *zone, options, input, STDOUT_FILENO, std::cerr);
  return outcome.faulty > 0 ? EX_DATAERR : EX_OK;
}

}  // namespace
}  // namespace clutchward

int main(int argc, char** argv) {
  CLI::App app{"clutchward: the keeper's command"};
  app.require_subcommand(1);
  clutchward::ReplayArguments replay;
  auto* verb = app.add_subcommand("replay", "Plays a recording through the rules and prints the events");
  verb->add_option("--config", replay.config, "the configuration")->required();
  verb->add_option("--from", replay.from, "the watch starts here (RFC 3339)");
  verb->add_option("--until", replay.until, "the end of time (RFC 3339)");
  verb->add_option("recording", replay.recording, "JSON Lines; standard input where left out");
  CLI11_PARSE(app, argc, argv);
  return clutchward::run_replay(replay);
}
