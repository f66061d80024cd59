// A profile for people and programs, and the sources that stand beside its figures in its file.
#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "cabinet/profile.h"

namespace clutchward {

// A line of the file with a figure, and the comment above or beside it.
struct SourceLine {
  std::string line;
  std::string source;
};

// Empty where the file cannot be read. Bounded as every configuration file is.
std::vector<SourceLine> sources_in(const std::string& file);

std::string profile_text(const Profile& profile, const std::vector<SourceLine>& sources);
nlohmann::ordered_json profile_json(const Profile& profile, const std::vector<SourceLine>& sources);

}  // namespace clutchward
