// The configuration as a whole: YAML files -> Settings, or every fault in them at once. Never
// throws, never keeps part of a library's tree, never writes a file.
#pragma once

#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "cabinet/settings.h"
#include "config/problem.h"

namespace clutchward {

struct Loaded {
  Settings settings;              // to be used only where there are no problems
  std::vector<Problem> problems;  // by file, line and column
  std::vector<Problem> warnings;  // likewise
  // Where each profile of a file of its own stands, by id: its comments hold the sources.
  std::map<std::string, std::string> profile_files;
};

// Reads the configuration and the profiles. A profile's file is named after its id ("hen.yaml") and
// holds one profile's keys. Later ones replace earlier ones of the same id whole: the folders of
// `profile_directories` in their order, the folder `profiles` beside the configuration, `profiles:`
// in the configuration. One with `based_on` extends another, which may be the one it replaces. A
// folder that is not there holds no profiles.
Loaded load_settings(const std::string& config_file,
                     const std::vector<std::string>& profile_directories);

// The same for whoever sends nothing (a replay, a look at the profiles): that a secret or a
// certificate is not to be had on this machine is no problem then.
Loaded load_settings_to_look(const std::string& config_file,
                             const std::vector<std::string>& profile_directories);

// The same from memory. `file` is the name for messages and the place that names of files in the
// text are relative to; `profiles` are those that came before.
Loaded parse_settings(std::string_view text, const std::string& file,
                      const std::map<std::string, Profile>& profiles = {});

}  // namespace clutchward
