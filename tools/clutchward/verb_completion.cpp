// `clutchward completion bash|zsh`: the script that completes this command; and, for that script,
// the names that the daemon knows, one a line.
#include <sysexits.h>

#include <iostream>
#include <nlohmann/json.hpp>

#include "app/profile_folders.h"
#include "choose.h"
#include "completion.h"
#include "config/load.h"
#include "talk.h"
#include "verb.h"

namespace clutchward {
namespace {

struct CompletionArguments {
  std::string shell;
  std::string kind;
  std::string cabinet;
  std::string state;
};

using Names = std::vector<std::string>;

// By the daemon's own picture of the watch, which names the ways to everybody.
Names contacts(const ControlClient& client) {
  Names names;
  const auto answer = client.get("/api/watch");
  if (!answer || answer->status != 200) return names;
  const auto watch = nlohmann::json::parse(answer->body, nullptr, false);
  if (!watch.is_object() || !watch.contains("channels")) return names;
  for (const auto& channel : watch["channels"])
    if (channel.is_object() && channel.contains("contact") && channel["contact"].is_string())
      names.push_back(channel["contact"]);
  return names;
}

Names profiles() {
  Names names;
  const Loaded loaded = load_settings_to_look("/etc/clutchward/clutchward.yaml", profile_folders());
  for (const auto& [id, profile] : loaded.settings.profiles) names.push_back(id);
  return names;
}

Names names_of(const CompletionArguments& arguments) {
  if (arguments.kind == "shells") return {"bash", "zsh"};
  if (arguments.kind == "profiles") return profiles();
  const ControlClient client(state_directory(arguments.state));
  if (arguments.kind == "contacts") return contacts(client);
  Names names;
  const auto cabinets = fetch_cabinets(client);
  if (!cabinets) return names;
  const auto chosen = choose_cabinet(arguments.cabinet, *cabinets);
  for (const CabinetView& cabinet : *cabinets) {
    if (arguments.kind == "cabinets") names.push_back(cabinet.id);
    if (arguments.kind == "batches")
      for (const BatchView& batch : cabinet.batches) names.push_back(batch.id);
    if (arguments.kind == "alarms" && chosen && cabinet.id == *chosen)
      for (const AlarmView& alarm : cabinet.alarms) names.push_back(alarm.key.alarm);
  }
  return names;
}

int run_names(const CompletionArguments& arguments) {
  Names names = names_of(arguments);
  std::sort(names.begin(), names.end());
  names.erase(std::unique(names.begin(), names.end()), names.end());
  for (const std::string& name : names) std::cout << name << '\n';
  return EX_OK;
}

int run_completion(const CLI::App& app, const CompletionArguments& arguments) {
  std::cout << completion_script(app, arguments.shell == "zsh" ? Shell::zsh : Shell::bash);
  return std::cout.flush() ? EX_OK : complain("the output cannot be written", EX_IOERR);
}

}  // namespace

void add_completion(CLI::App& app, Run& run) {
  auto* verb = app.add_subcommand("completion", "Prints what makes a shell complete this command");
  verb->require_subcommand(0, 1);
  auto arguments = std::make_shared<CompletionArguments>();
  verb->add_option("shell", arguments->shell, "bash or zsh")->check(CLI::IsMember({"bash", "zsh"}));
  auto* names = verb->add_subcommand("names", "for the script: names of one kind, one a line");
  names->group("");
  names->add_option("kind", arguments->kind)->required();
  names->add_option("cabinet", arguments->cabinet);
  names->add_option("--state", arguments->state);
  names->callback([&run, arguments] { run = [arguments] { return run_names(*arguments); }; });
  verb->callback([&run, &app, arguments, names] {
    if (names->parsed()) return;
    if (arguments->shell.empty()) throw CLI::RequiredError("shell");
    run = [&app, arguments] { return run_completion(app, *arguments); };
  });
}

}  // namespace clutchward
