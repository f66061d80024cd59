// `clutchward quality`: does it ring well? Over the history, or over a recording through one or
// more configurations side by side. Reaches no daemon.
#include <fcntl.h>
#include <sysexits.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <filesystem>
#include <iostream>
#include <memory>
#include <set>

#include "app/profile_folders.h"
#include "config/load.h"
#include "history_door.h"
#include "loop/zone_loader.h"
#include "quality.h"
#include "talk.h"
#include "verb.h"

namespace clutchward {
namespace {

// More do not fit beside one another on a screen.
constexpr std::size_t kSides = 6;

struct QualityArguments {
  std::string state;
  std::string file;
  std::string from;
  std::string until;
  std::string recording;
  std::string config;
  std::vector<std::string> what_if;
  std::string answer_after;
  bool json = false;
};

int print(const QualityArguments& arguments, const QualityShown& shown) {
  const auto document = quality_json(shown);
  std::cout << (arguments.json ? document.dump(2, ' ', false,
                                               nlohmann::ordered_json::error_handler_t::replace) +
                                     "\n"
                               : quality_text(document))
            << std::flush;
  return std::cout ? EX_OK : complain("the output cannot be written", EX_IOERR);
}

int from_history(const QualityArguments& arguments) {
  std::string path;
  HistoryFile file;
  if (const int code = open_history(arguments.file, arguments.state, file, path)) return code;
  HistoryQuestion question;
  question.from = parse_rfc3339(arguments.from);
  question.to = parse_rfc3339(arguments.until);
  auto shown = read_quality(file, question);
  if (!shown) return complain(shown.why(), EX_DATAERR);
  shown->file = path;
  return print(arguments, *shown);
}

struct LoadedSide {
  Loaded loaded;
  std::optional<Zone> zone;
};

// The last part of a path where that tells them apart.
std::vector<std::string> names_of(const std::vector<std::string>& paths) {
  std::vector<std::string> names;
  for (const std::string& path : paths)
    names.push_back(std::filesystem::path(path).filename().string());
  if (std::set<std::string>(names.begin(), names.end()).size() < names.size()) return paths;
  return names;
}

int from_recording(const QualityArguments& arguments) {
  std::vector<std::string> paths{arguments.config};
  paths.insert(paths.end(), arguments.what_if.begin(), arguments.what_if.end());
  if (paths.size() > kSides)
    return complain(std::to_string(paths.size()) + " configurations; at most " +
                        std::to_string(kSides) + " beside one another",
                    EX_USAGE);
  QualityShown shown;
  shown.source = "recording";
  shown.file = arguments.recording;
  shown.names = names_of(paths);
  std::vector<std::unique_ptr<LoadedSide>> loaded;
  std::vector<QualitySide> sides;
  bool bad = false;
  for (std::size_t i = 0; i < paths.size(); ++i) {
    loaded.push_back(std::make_unique<LoadedSide>());
    LoadedSide& side = *loaded.back();
    side.loaded = load_settings_to_look(paths[i], profile_folders());
    for (const Problem& problem : side.loaded.problems) std::cerr << to_text(problem) << '\n';
    bad = bad || !side.loaded.problems.empty();
    if (!side.loaded.problems.empty()) continue;
    auto zone = load_zone(side.loaded.settings.timezone);
    if (!zone) return complain(zone.why(), EX_CONFIG);
    side.zone = *zone;
    sides.push_back({shown.names[i], &side.loaded.settings, &*side.zone});
  }
  if (bad) return EX_CONFIG;
  int input = STDIN_FILENO;
  if (arguments.recording != "-") {
    input = ::open(arguments.recording.c_str(), O_RDONLY | O_CLOEXEC);
    if (input < 0) return complain(arguments.recording + ": " + std::strerror(errno), EX_NOINPUT);
  }
  QualityPlayOptions options;
  options.recording = arguments.recording;
  options.from = parse_rfc3339(arguments.from);
  options.until = parse_rfc3339(arguments.until);
  if (!arguments.answer_after.empty()) options.answer_after = parse_span(arguments.answer_after);
  shown.answer_after = options.answer_after;
  shown.played = play_for_quality(sides, options, input, std::cerr);
  if (input != STDIN_FILENO) ::close(input);
  const int code = print(arguments, shown);
  if (code != EX_OK) return code;
  return shown.played.faulty > 0 ? EX_DATAERR : EX_OK;
}

std::string time_fault(const std::string& text) {
  if (text.empty() || parse_rfc3339(text)) return {};
  return "\"" + text + "\" is no time; expected such as 2026-03-01T08:00:00Z";
}

std::string span_fault(const std::string& text) {
  if (parse_span(text)) return {};
  return "\"" + text + "\" is no span of time; expected such as 5min";
}

}  // namespace

void add_quality(CLI::App& app, Run& run) {
  auto* verb = app.add_subcommand(
      "quality",
      "Does it ring well? Alarms beside the published measures, and what other rules "
      "would have done");
  auto arguments = std::make_shared<QualityArguments>();
  auto* state =
      verb->add_option("--state", arguments->state, "the daemon's state folder, where it lies");
  auto* file = verb->add_option("--history", arguments->file, "the database itself");
  auto* recording = verb->add_option("--recording", arguments->recording,
                                     "a recording instead, JSON Lines; \"-\": standard input");
  auto* config =
      verb->add_option("--config", arguments->config, "the configuration to play it with");
  auto* others = verb->add_option("--what-if", arguments->what_if,
                                  "another configuration beside it; several, each with its own "
                                  "--what-if");
  auto* answer = verb->add_option("--answer-after", arguments->answer_after,
                                  "somebody acknowledges so long after it rang");
  verb->add_option("--from", arguments->from, "from this time on (RFC 3339)")->check(time_fault);
  verb->add_option("--until,--to", arguments->until, "up to this time (RFC 3339)")
      ->check(time_fault);
  verb->add_flag("--json", arguments->json, "one JSON document");
  answer->check(span_fault);
  file->excludes(state);
  recording->excludes(state)->excludes(file)->needs(config);
  config->needs(recording);
  others->needs(recording);
  answer->needs(recording);
  verb->callback([&run, arguments] {
    run = [arguments] {
      return arguments->recording.empty() ? from_history(*arguments) : from_recording(*arguments);
    };
  });
}

}  // namespace clutchward
