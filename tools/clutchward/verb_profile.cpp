// `clutchward profile list|show`: the schedules of the species, those shipped and the keeper's own,
// as the daemon would read them. Reaches no daemon.
#include <sysexits.h>

#include <cmath>
#include <iostream>
#include <nlohmann/json.hpp>

#include "app/profile_folders.h"
#include "base/text.h"
#include "config/load.h"
#include "profile_text.h"
#include "screen.h"
#include "talk.h"
#include "verb.h"

namespace clutchward {
namespace {

struct ProfileArguments {
  std::string config = "/etc/clutchward/clutchward.yaml";
  std::string folder;  // "" : the shipped ones
  std::string id;
  bool json = false;
};

std::string days_text(double days) {
  return milli_exact(static_cast<std::int64_t>(std::llround(days * 1000)));
}
std::string padded(const std::string& text, std::size_t width) {
  return text + std::string(std::max(width, width_of(text)) - width_of(text), ' ');
}

void list(const std::map<std::string, Profile>& profiles) {
  std::size_t widest = 0;
  for (const auto& [id, profile] : profiles) widest = std::max(widest, width_of(id));
  for (const auto& [id, profile] : profiles)
    std::cout << padded(id, widest) << "  " << padded(days_text(profile.days), 5) << " days  "
              << tame(profile.name) << '\n';
}

int run_profile(const ProfileArguments& arguments) {
  const Loaded loaded = load_settings_to_look(
      arguments.config,
      arguments.folder.empty() ? profile_folders() : std::vector<std::string>{arguments.folder});
  for (const Problem& problem : loaded.problems) std::cerr << to_text(problem) << '\n';
  if (!loaded.problems.empty()) return EX_CONFIG;
  const auto& profiles = loaded.settings.profiles;
  if (arguments.id.empty()) {
    nlohmann::ordered_json all = nlohmann::ordered_json::array();
    for (const auto& [id, profile] : profiles) all.push_back(profile_json(profile, {}));
    if (arguments.json)
      std::cout << all.dump() << '\n';
    else
      list(profiles);
    return EX_OK;
  }
  const auto found = profiles.find(arguments.id);
  if (found == profiles.end()) {
    std::vector<std::string> known;
    for (const auto& [id, profile] : profiles) known.push_back(id);
    const std::string near = nearest_word(arguments.id, known);
    return complain("no profile \"" + printable(arguments.id, 64) + "\"" +
                        (near.empty() ? "" : "; did you mean \"" + near + "\"?"),
                    EX_DATAERR);
  }
  const auto file = loaded.profile_files.find(arguments.id);
  const std::vector<SourceLine> sources =
      file == loaded.profile_files.end() ? std::vector<SourceLine>{} : sources_in(file->second);
  if (arguments.json)
    std::cout << profile_json(found->second, sources).dump() << '\n';
  else
    std::cout << profile_text(found->second, sources);
  return EX_OK;
}

}  // namespace

void add_profile(CLI::App& app, Run& run) {
  auto* profile = app.add_subcommand("profile", "The schedules of the species");
  profile->require_subcommand(1);
  auto arguments = std::make_shared<ProfileArguments>();
  auto* all = profile->add_subcommand("list", "Every schedule: shipped and your own");
  auto* one = profile->add_subcommand(
      "show", "One schedule: its dates, its stages, and where each figure comes from");
  one->add_option("profile", arguments->id, "its id, such as turkey")->required();
  for (auto* verb : {all, one}) {
    verb->add_option("--config", arguments->config, "the configuration")->capture_default_str();
    verb->add_option("--profiles", arguments->folder,
                     "a folder of profiles instead of the shipped ones");
    verb->add_flag("--json", arguments->json, "print JSON for programs");
    verb->callback([&run, arguments] { run = [arguments] { return run_profile(*arguments); }; });
  }
}

}  // namespace clutchward
