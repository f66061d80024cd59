// `clutchward replay`: a recording through the rules, events out. Reaches no daemon.
#include <fcntl.h>
#include <sysexits.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <fstream>
#include <iostream>

#include "app/profile_folders.h"
#include "app/replay.h"
#include "config/load.h"
#include "loop/zone_loader.h"
#include "verb.h"

namespace clutchward {
namespace {

struct ReplayArguments {
  std::string config;
  std::string from;
  std::string until;
  std::string history;
  std::string messages;
  std::string recording = "-";
  bool json = true;  // there is no other form
};

int run_replay(const ReplayArguments& arguments) {
  const Loaded loaded = load_settings_to_look(arguments.config, profile_folders());
  for (const Problem& problem : loaded.problems) std::cerr << to_text(problem) << '\n';
  if (!loaded.problems.empty()) return EX_CONFIG;
  const auto zone = load_zone(loaded.settings.timezone);
  if (!zone) {
    std::cerr << zone.why() << '\n';
    return EX_CONFIG;
  }
  const auto time = [](const std::string& text) {
    return text.empty() ? std::nullopt : parse_rfc3339(text);
  };
  ReplayOptions options;
  options.recording = arguments.recording;
  options.from = time(arguments.from);
  options.until = time(arguments.until);
  options.history = arguments.history;
  if (!options.history.empty() && ::access(options.history.c_str(), F_OK) == 0) {
    std::cerr << options.history
              << ": is there already; expected the name of a new file, since a recording played "
                 "twice would count twice\n";
    return EX_CANTCREAT;
  }
  std::ofstream messages;
  if (!arguments.messages.empty()) {
    messages.open(arguments.messages, std::ios::binary | std::ios::trunc);
    if (!messages) {
      std::cerr << arguments.messages << ": " << std::strerror(errno) << '\n';
      return EX_CANTCREAT;
    }
    options.messages = &messages;
  }
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
  if (outcome.history_failed) return EX_CANTCREAT;
  if (!arguments.messages.empty() && !messages.flush()) {
    std::cerr << arguments.messages << ": cannot be written\n";
    return EX_CANTCREAT;
  }
  return outcome.faulty > 0 ? EX_DATAERR : EX_OK;
}

std::string time_fault(const std::string& text) {
  if (text.empty() || parse_rfc3339(text)) return {};
  return "\"" + text + "\" is no time; expected such as 2026-03-01T08:00:00Z";
}

}  // namespace

void add_replay(CLI::App& app, Run& run) {
  auto* verb =
      app.add_subcommand("replay", "Plays a recording through the rules, prints the events");
  auto arguments = std::make_shared<ReplayArguments>();
  verb->add_option("--config", arguments->config, "the configuration")->required();
  verb->add_option("--from", arguments->from, "the watch starts here (RFC 3339)")
      ->check(time_fault);
  verb->add_option("--until", arguments->until, "the end of time (RFC 3339)")->check(time_fault);
  verb->add_option("--history", arguments->history,
                   "writes minutes and events to this new database as well");
  verb->add_flag("--json", arguments->json, "one JSON object a line, as it is anyway");
  verb->add_option("--messages", arguments->messages,
                   "writes whom it would have been told to, a message a line, to this file");
  verb->add_option("recording", arguments->recording, "JSON Lines; standard input where left out");
  verb->callback([&run, arguments] { run = [arguments] { return run_replay(*arguments); }; });
}

}  // namespace clutchward
